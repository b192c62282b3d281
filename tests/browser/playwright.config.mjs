// How the browser is started: Debian's Chromium, without the lookups it makes at start.
import { defineConfig } from '@playwright/test';

export default defineConfig({
  testDir: '.',
  testMatch: '*.spec.mjs',
  outputDir: 'out',
  // Most of their time they wait, for clocks and streams: three keep two cores busy.
  // What is measured is measured alone.
  workers: process.env.BUDGETS ? 1 : 3,
  // A machine that does several things at once may take its time; what must be quick is measured
  // where it is asked for.
  expect: { timeout: 20_000 },
  retries: 0,
  // Codes that let devices in are good for ten minutes: who needs one comes first.
  projects: [
    { name: 'first', testMatch: /(day|origins|records|season)\.spec\.mjs/ },
    { name: 'then', testIgnore: /(day|origins|records|season)\.spec\.mjs/ },
  ],
  timeout: 120_000,
  reporter: [['list'], ['./brief.mjs']],
  use: {
    headless: true,
    hasTouch: true,
    actionTimeout: 20_000,
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
