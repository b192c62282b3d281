// How the browser is started: Debian's Chromium, without the lookups it makes at start.
import { defineConfig } from '@playwright/test';

export default defineConfig({
  testDir: '.',
  testMatch: '*.spec.mjs',
  outputDir: 'out',
  workers: 2,
  retries: 0,
  // Codes that let devices in are good for ten minutes: who needs one comes first.
  projects: [
    { name: 'first', testMatch: /(day|origins|records|season)\.spec\.mjs/ },
    { name: 'then', testIgnore: /(day|origins|records|season)\.spec\.mjs/ },
  ],
  timeout: 120_000,
  reporter: [['list']],
  use: {
    headless: true,
    hasTouch: true,
    actionTimeout: 10_000,
    launchOptions: {
      executablePath: process.env.CHROMIUM,
      args: [
        '--no-sandbox',
        '--disable-gpu',
        '--disable-quic',
        '--no-first-run',
        '--disable-background-networking',
        '--disable-component-update',
        '--disable-sync',
        '--autoplay-policy=no-user-gesture-required',
      ],
    },
  },
});
