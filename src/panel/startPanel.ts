import type { Server, ServerResponse } from 'node:http';
import type { AddressInfo, Socket } from 'node:net';
import { createAdaptorServer } from '@hono/node-server';
import { PolewardError } from '../error.js';
import { type EventStreams, eventStreams } from './eventStreams.js';
import type { PageFiles } from './pageFiles.js';
import { panelApp } from './panelApp.js';
import { PANEL_LIMITS, type PanelLimits } from './panelLimits.js';
import { panelMessage } from './panelMessage.js';
import type { PanelView } from './panelView.js';

export interface PanelOptions {
  readonly page: PageFiles;
  /** The first port to try, 1 to 65535; 0 takes any that is free. */
  readonly port: number;
  /** Null: this computer alone can ask. Else all of the network can, if they have this key. */
  readonly key: string | null;
  readonly limits?: Partial<PanelLimits>;
}

/** A panel that is being served. */
export interface Panel {
  readonly port: number;
  /** Panels that listen now. */
  readonly watchers: number;
  /** Shows this from now on. Never throws, never waits. */
  show(view: PanelView): void;
  stop(): Promise<void>;
}

/** Ports tried before giving up. */
const TRIES = 20;

/**
 * Serves the panel, on the port asked for or the next free one above.
 *
 * @throws PolewardError `panel-port` where none of the next twenty is free
 */
export async function startPanel({ page, port, key, limits: given }: PanelOptions): Promise<Panel> {
  const limits = { ...PANEL_LIMITS, ...given };
  const streams = eventStreams(limits.streams);
  const server = guardedServer(panelApp(page, streams, key).fetch, limits);
  const listening = await listenFrom(server, port, key === null ? '127.0.0.1' : '0.0.0.0');
  return served(server, streams, limits, listening);
}

function served(server: Server, streams: EventStreams, limits: PanelLimits, port: number): Panel {
  const beating = setInterval(() => streams.beat(), limits.beatMs);
  beating.unref();
  return {
    port,
    get watchers() {
      return streams.count;
    },
    show: (view) => streams.show(() => panelMessage(view, Date.now())),
    stop: () => new Promise((resolve) => {
      clearInterval(beating);
      streams.closeAll();
      server.close(() => resolve());
      server.closeAllConnections();
    }),
  };
}

/** Node's server with limits for the slow and the rude. */
function guardedServer(fetch: ReturnType<typeof panelApp>['fetch'], limits: PanelLimits): Server {
  const server = createAdaptorServer({
    fetch, overrideGlobalObjects: false,
    serverOptions: {
      maxHeaderSize: limits.headerBytes, headersTimeout: limits.headersMs, requestTimeout: limits.headersMs,
      keepAliveTimeout: limits.keepAliveMs,
      connectionsCheckingInterval: Math.max(50, limits.headersMs / 4), keepAlive: true, keepAliveInitialDelay: limits.stalledMs,
    },
  }) as Server;
  server.maxRequestsPerSocket = 100;
  // A stream's signs of life wait while its client takes nothing, so that its connection falls idle.
  server.setTimeout(limits.stalledMs, (socket: Socket) => socket.destroy());
  const held = new Held(limits);
  server.on('connection', (socket: Socket) => held.add(socket));
  // A request that was let in: its connection is not given up for others.
  server.on('request', (_request, response: ServerResponse) => {
    const writeHead = response.writeHead.bind(response) as (status: number, ...more: never[]) => ServerResponse;
    response.writeHead = ((status: number, ...more: never[]) => {
      if (status < 400 && response.socket) held.trust(response.socket);
      return writeHead(status, ...more);
    }) as ServerResponse['writeHead'];
  });
  return server;
}

/**
 * The connections that are open. Where there are too many, the oldest goes that has asked for nothing it may have, of the address that
 * holds most of these: who only holds connections shuts nobody out.
 */
class Held {
  private readonly all = new Map<Socket, string>();
  private readonly trusted = new WeakSet<Socket>();

  constructor(private readonly limits: PanelLimits) {}

  add(socket: Socket): void {
    const address = socket.remoteAddress ?? '';
    const { connections, connectionsAnAddress } = this.limits;
    if (this.of(address) >= connectionsAnAddress || (this.all.size >= connections && !this.giveUp())) {
      socket.destroy();
      return;
    }
    this.all.set(socket, address);
    socket.on('close', () => this.all.delete(socket));
  }

  trust(socket: Socket): void {
    this.trusted.add(socket);
  }

  private of(address: string): number {
    let count = 0;
    for (const other of this.all.values()) if (other === address) count++;
    return count;
  }

  /** Gives up a connection of the address that has most idle ones; false where there is none. */
  private giveUp(): boolean {
    const idle = [...this.all].filter(([socket]) => !this.trusted.has(socket));
    const counts = new Map<string, number>();
    for (const [, address] of idle) counts.set(address, (counts.get(address) ?? 0) + 1);
    const most = Math.max(...counts.values());
    const found = idle.find(([, address]) => counts.get(address) === most);
    if (!found) return false;
    this.all.delete(found[0]);
    found[0].destroy();
    return true;
  }
}

/** Listens on the first free port from `first` on; returns it. */
async function listenFrom(server: Server, first: number, host: string): Promise<number> {
  const last = first === 0 ? 0 : Math.min(65535, first + TRIES - 1);
  for (let port = first; port <= last; port++) {
    const trouble = await new Promise<NodeJS.ErrnoException | null>((resolve) => {
      const failed = (error: NodeJS.ErrnoException): void => resolve(error);
      server.once('error', failed);
      server.listen(port, host, () => {
        server.off('error', failed);
        // Trouble with the panel must never end the watch.
        server.on('error', () => {});
        resolve(null);
      });
    });
    if (!trouble) return (server.address() as AddressInfo).port;
    // Windows refuses ports that it has set aside as not permitted.
    if (trouble.code !== 'EADDRINUSE' && trouble.code !== 'EACCES') {
      throw new PolewardError(
        'panel-port',
        `The panel can't be served: ${trouble.code ?? 'unknown trouble'}. See to the network first, or watch without the panel.`,
        { remedies: ['without-panel'] },
      );
    }
  }
  throw new PolewardError(
    'panel-port', `No port from ${first} to ${last} is free for the panel. Name another.`, { remedies: ['other-port'] },
  );
}
