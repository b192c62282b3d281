// A network of its own between a browser and a box: it can be cut, flap, lose answers and change
// what passes. It stands in for Wi-Fi on a boat; nothing of it is in the program.
import { createServer, request } from 'node:http';

/** @typedef {{ cut: boolean, loseAnswers: number, change?: (path: string, body: string) => string, seen: { method: string, path: string, body: string }[] }} Faults */

/**
 * @param {string} target origin of the box
 * @returns {Promise<{ url: string, faults: Faults, end: () => Promise<void>, drop: () => void }>}
 */
export async function network(target) {
  const to = new URL(target);
  /** @type {Faults} */
  const faults = { cut: false, loseAnswers: 0, seen: [] };
  /** @type {Set<import('node:net').Socket>} */
  const sockets = new Set();
  const server = createServer((asked, answer) => {
    if (faults.cut) return void asked.socket.destroy();
    /** @type {Buffer[]} */
    const parts = [];
    asked.on('data', (part) => parts.push(part));
    asked.on('end', () => {
      const body = Buffer.concat(parts);
      faults.seen.push({ method: asked.method ?? '', path: asked.url ?? '', body: body.toString() });
      const headers = { ...asked.headers, host: to.host };
      if (headers.origin) headers.origin = to.origin;
      if (faults.change) delete headers['accept-encoding'];
      const on = request({ host: to.hostname, port: to.port, method: asked.method, path: asked.url, headers }, (got) => {
        const lose = faults.loseAnswers > 0 && asked.method === 'POST';
        if (lose) faults.loseAnswers -= 1;
        if (faults.cut || lose) {
          // The box has done it; nobody here hears of it.
          got.resume();
          return void asked.socket.destroy();
        }
        const kind = String(got.headers['content-type'] ?? '');
        if (faults.change && !kind.includes('event-stream')) {
          let text = '';
          got.setEncoding('utf8');
          got.on('data', (part) => (text += part));
          got.on('end', () => {
            const changed = faults.change?.(asked.url ?? '', text) ?? text;
            const { 'content-length': _, ...rest } = got.headers;
            answer.writeHead(got.statusCode ?? 502, rest);
            answer.end(changed);
          });
          return;
        }
        answer.writeHead(got.statusCode ?? 502, got.headers);
        got.pipe(answer);
      });
      on.on('error', () => asked.socket.destroy());
      answer.on('close', () => on.destroy());
      on.end(body);
    });
  });
  server.on('connection', (socket) => {
    sockets.add(socket);
    socket.on('close', () => sockets.delete(socket));
  });
  await new Promise((resolve) => server.listen(0, '127.0.0.1', () => resolve(undefined)));
  const address = /** @type {import('node:net').AddressInfo} */ (server.address());
  const drop = () => sockets.forEach((socket) => socket.destroy());
  return {
    url: `http://127.0.0.1:${address.port}`,
    faults,
    drop,
    end: () => new Promise((resolve) => {
      drop();
      server.close(() => resolve(undefined));
    }),
  };
}
