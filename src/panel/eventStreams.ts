import { randomBytes } from 'node:crypto';
import type { ServerResponse } from 'node:http';

/** Where the events of a stream are written; only this part of node's response is used. */
export type StreamOut = Pick<ServerResponse, 'write' | 'end' | 'destroy' | 'on' | 'writableLength'>;

export interface EventStreams {
  /** Sends the new state to all. `state` is called when it is written, so that its clock is right. */
  show(state: () => unknown): void;
  /**
   * Adds a stream, and writes the present state to it unless `lastId` says that it has that. False where there is no room: an address that
   * has more streams than this one gives up its oldest first.
   */
  open(out: StreamOut, address: string, lastId: string | null): boolean;
  /** A heartbeat to all. */
  beat(): void;
  closeAll(): void;
  readonly count: number;
}

interface Stream {
  readonly out: StreamOut;
  readonly address: string;
  /** The socket is full: nothing more is written until it drains. */
  full: boolean;
  /** The state has changed while it was full. */
  behind: boolean;
}

/**
 * Server-sent events (WHATWG HTML, section 9.2) to many. A stream that reads slowly skips outdated events: for each, at most one event
 * waits in addition to its socket's buffer.
 */
export function eventStreams(most: number): EventStreams {
  const streams = new Set<Stream>();
  // A restarted server must not look like the one before.
  const run = randomBytes(4).toString('hex');
  let number = 0;
  let state: (() => unknown) | null = null;

  const write = (stream: Stream, text: string): void => {
    stream.full = !stream.out.write(text);
  };
  const current = (): string => `id: ${run}-${number}\nevent: view\ndata: ${JSON.stringify(state!())}\n\n`;
  const drop = (stream: Stream): void => {
    streams.delete(stream);
    stream.out.destroy();
  };
  return {
    get count() {
      return streams.size;
    },
    show(next) {
      state = next;
      number++;
      // The longest part of a message is the same for all.
      const text = current();
      for (const stream of streams) {
        if (stream.full) stream.behind = true;
        else write(stream, text);
      }
    },
    open(out, address, lastId) {
      if (streams.size >= most) {
        const other = greediest(streams, address);
        if (!other) return false;
        drop(other);
      }
      const stream: Stream = { out, address, full: false, behind: false };
      streams.add(stream);
      out.on('close', () => streams.delete(stream));
      out.on('drain', () => {
        stream.full = false;
        if (!stream.behind) return;
        stream.behind = false;
        write(stream, current());
      });
      write(stream, `retry: 1000\n\n${state && lastId !== `${run}-${number}` ? current() : beatText()}`);
      return true;
    },
    beat() {
      for (const stream of streams) if (!stream.full) write(stream, beatText());
    },
    closeAll() {
      for (const { out } of streams) out.end();
      streams.clear();
    },
  };
}

function beatText(): string {
  return `event: beat\ndata: ${Date.now()}\n\n`;
}

/** The oldest stream of the address with the most, if that is more than `address` would have; null if there is none. */
function greediest(streams: ReadonlySet<Stream>, address: string): Stream | null {
  const held = new Map<string, number>();
  for (const stream of streams) held.set(stream.address, (held.get(stream.address) ?? 0) + 1);
  const [most] = [...held].sort((a, b) => b[1] - a[1]);
  if (!most || most[1] <= (held.get(address) ?? 0) + 1) return null;
  return [...streams].find((stream) => stream.address === most[0])!;
}
