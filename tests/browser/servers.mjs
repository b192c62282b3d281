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

/**
 * A box that nobody has set up.
 * @param {string} folder its data
 * @param {number} port
 * @returns {Promise<{ url: string, code: string, kill: () => void }>}
 */
export async function emptyBox(folder, port) {
  if (!PROGRAM) throw new Error('DECKWATCH is not set: the path of the program under test');
  const bind = `127.0.0.1:${port}`;
  const child = spawn(PROGRAM, ['serve', '--data', folder, '--bind', bind], { stdio: ['ignore', 'pipe', 'ignore'] });
  let code = '';
  for await (const line of createInterface({ input: child.stdout })) {
    code = /give the code (\d+) (\d+)/.exec(line)?.slice(1).join('') ?? '';
    if (code) break;
  }
  child.stdout.resume();
  const url = `http://${bind}`;
  // The code is said before it listens.
  for (let tries = 0; tries < 100; tries += 1) {
    if (await fetch(`${url}/api/health`).then((answer) => answer.ok, () => false)) break;
    await new Promise((wait) => setTimeout(wait, 100));
  }
  return { url, code, kill: () => void child.kill('SIGKILL') };
}
