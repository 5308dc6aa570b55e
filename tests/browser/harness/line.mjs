// A line between a browser and a host that can be cut and mended: what goes through is held back, as on a
// network that is gone without a word, or broken off.

import { createServer, connect } from 'node:net';
import { once } from 'node:events';

/**
 * @typedef {object} Line
 * @property {string} address Host and port.
 * @property {() => void} hush Nothing goes through any more, and nobody is told.
 * @property {() => void} cut Breaks every connection, and refuses new ones.
 * @property {(port?: number) => void} mend All is as before, for new connections; to another port if one is given.
 * @property {() => Promise<void>} close
 */

/**
 * Opens a line to a port of this machine.
 * @param {number} port
 * @returns {Promise<Line>}
 */
export async function openLine(port) {
  let to = port;
  /** @type {Set<import('node:net').Socket>} */
  const sockets = new Set();
  let state = 'open';
  const server = createServer((near) => {
    if (state === 'cut') {
      near.destroy();
      return;
    }
    const far = connect(to, '127.0.0.1');
    for (const [from, other] of /** @type {const} */ ([[near, far], [far, near]])) {
      sockets.add(from);
      from.on('data', (data) => state === 'open' && other.write(data));
      from.on('end', () => state === 'open' && other.end());
      from.on('error', () => other.destroy());
      from.on('close', () => {
        sockets.delete(from);
        other.destroy();
      });
    }
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const own = /** @type {import('node:net').AddressInfo} */ (server.address());
  const breakAll = () => sockets.forEach((socket) => socket.destroy());
  return {
    address: `127.0.0.1:${own.port}`,
    hush: () => (state = 'hushed'),
    cut: () => {
      state = 'cut';
      breakAll();
    },
    mend: (port = to) => {
      breakAll();
      to = port;
      state = 'open';
    },
    close: async () => {
      breakAll();
      server.close();
      await once(server, 'close');
    },
  };
}
