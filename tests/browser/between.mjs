// A network of its own between a browser and a box: it can be cut, flap, lose answers and change
// what passes. It stands in for Wi-Fi on a boat; nothing of it is in the program.
import { constants } from 'node:crypto';
import { createServer, request } from 'node:http';
import * as secure from 'node:https';

/** No session is taken up again: a browser would not look at the certificate a second time. */
const EACH_ANEW = { maxVersion: /** @type {const} */ ('TLSv1.2'), secureOptions: constants.SSL_OP_NO_TICKET };

/** @typedef {{ cut: boolean, loseAnswers: number, change?: (path: string, body: string) => string, seen: { method: string, path: string, body: string }[] }} Faults */

/**
 * @param {string} target origin of the box
 * @param {{ key: Buffer, cert: Buffer, name: string }} [tls] speaks https under this name, with a certificate of its own
 * @returns {Promise<{ url: string, faults: Faults, end: () => Promise<void>, drop: () => void }>}
 */
export async function network(target, tls) {
  const to = new URL(target);
  /** @type {Faults} */
  const faults = { cut: false, loseAnswers: 0, seen: [] };
  /** @type {Set<import('node:net').Socket>} */
  const sockets = new Set();
  /** @type {import('node:http').RequestListener} */
  const pass = (asked, answer) => {
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
      const options = { host: '127.0.0.1', port: to.port, method: asked.method, path: asked.url, headers, servername: to.hostname, rejectUnauthorized: false };
      const on = (tls ? secure.request : request)(options, (got) => {
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
  };
  const server = tls ? secure.createServer({ ...tls, ...EACH_ANEW }, pass) : createServer(pass);
  server.on('connection', (/** @type {import('node:net').Socket} */ socket) => {
    sockets.add(socket);
    socket.on('close', () => sockets.delete(socket));
  });
  await new Promise((resolve) => server.listen(0, '127.0.0.1', () => resolve(undefined)));
  const address = /** @type {import('node:net').AddressInfo} */ (server.address());
  const drop = () => sockets.forEach((socket) => socket.destroy());
  return {
    url: tls ? `https://${tls.name}:${address.port}` : `http://127.0.0.1:${address.port}`,
    faults,
    drop,
    end: () => new Promise((resolve) => {
      drop();
      server.close(() => resolve(undefined));
    }),
  };
}
