// Boxes and drills that a test starts, kills and starts again by itself.
import { spawn } from 'node:child_process';
import { createInterface } from 'node:readline';

const PROGRAM = process.env.DECKWATCH ?? '';

/**
 * A drill of its own.
 * @param {number} speed
 * @returns {Promise<{ url: string, pin: string, kill: () => void }>}
 */
export async function ownDrill(speed) {
  if (!PROGRAM) throw new Error('DECKWATCH is not set: the path of the program under test');
  const child = spawn(PROGRAM, ['demo', '--speed', String(speed), '--bind', '127.0.0.1:0'], { stdio: ['ignore', 'pipe', 'ignore'] });
  let [url, pin] = ['', ''];
  const lines = createInterface({ input: child.stdout });
  for await (const line of lines) {
    url ||= /^\s+open\s+(\S+)/.exec(line)?.[1]?.replace(/\/$/, '') ?? '';
    pin ||= /^\s+PIN\s+(\d+)/.exec(line)?.[1] ?? '';
    if (pin) break;
  }
  // What it says later must find a reader.
  child.stdout.resume();
  return { url, pin, kill: () => void child.kill('SIGKILL') };
}
