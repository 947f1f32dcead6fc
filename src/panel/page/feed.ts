import type { PanelMessage } from '../panelMessage.js';

/** The link to the watch. */
export type Link = 'fresh' | 'lost' | 'refused' | 'full';

/** Heartbeats come every five seconds; after more than two missing ones the link is taken as lost. */
const SILENT_MS = 12_000;
const AGAIN_MS = 2000;

export interface FeedEars {
  /** Something new to show. */
  view(message: PanelMessage): void;
  /** Each heartbeat, with the watch's clock. */
  clock(now: number): void;
  link(link: Link, silentMs: number): void;
}

/** Listens to the event stream, and opens it again whenever it ends. Call `tick` every second. */
export function listen(ears: FeedEars): { tick(): void; wake(): void } {
  let source: EventSource;
  let heardAt = Date.now();
  let link: Link = 'lost';
  let openAgain: ReturnType<typeof setTimeout> | null = null;

  const alive = (now: number): void => {
    heardAt = Date.now();
    link = 'fresh';
    ears.clock(now);
    ears.link(link, 0);
  };
  const open = (): void => {
    if (openAgain !== null) clearTimeout(openAgain);
    openAgain = null;
    source = new EventSource('events');
    const mine = source;
    source.addEventListener('view', ({ data }: MessageEvent<string>) => {
      const message = JSON.parse(data) as PanelMessage;
      alive(message.now);
      ears.view(message);
    });
    source.addEventListener('beat', ({ data }: MessageEvent<string>) => alive(Number(data)));
    source.addEventListener('error', () => {
      if (mine !== source) return;
      link = 'lost';
      ears.link(link, Date.now() - heardAt);
      // The browser tries again by itself, unless the answer was a refusal.
      if (source.readyState === EventSource.CLOSED) void refused();
    });
  };
  const refused = async (): Promise<void> => {
    try {
      const { status } = await fetch('events', { method: 'HEAD' });
      link = status === 403 ? 'refused' : status === 200 ? 'full' : 'lost';
    } catch {
      link = 'lost';
    }
    ears.link(link, Date.now() - heardAt);
    openAgain ??= setTimeout(open, AGAIN_MS);
  };
  const wake = (): void => {
    source.close();
    open();
  };
  open();
  return {
    wake,
    tick() {
      const silent = Date.now() - heardAt;
      if (silent <= SILENT_MS) return;
      if (link === 'fresh') {
        // No event says that the link broke: a phone that lost its network receives nothing.
        link = 'lost';
        wake();
      }
      ears.link(link, silent);
    },
  };
}
