import { EventEmitter } from 'node:events';
import { describe, expect, test } from 'vitest';
import { type StreamOut, eventStreams } from '../../src/panel/eventStreams.js';

/** A client whose socket takes `room` writes, then is full until `drain`. */
class Client extends EventEmitter {
  written = '';
  ended = false;
  writableLength = 0;
  constructor(public room = Infinity) { super(); }
  write(text: string): boolean {
    this.written += text;
    return --this.room > 0;
  }
  end(): this { this.ended = true; this.emit('close'); return this; }
  destroy(): this { this.ended = true; this.emit('close'); return this; }
  get out(): StreamOut { return this as unknown as StreamOut; }
  views(): unknown[] { return [...this.written.matchAll(/event: view\ndata: (.*)\n/g)].map(([, data]) => JSON.parse(data!) as unknown); }
  lastId(): string { return [...this.written.matchAll(/^id: (.*)$/gm)].at(-1)![1]!; }
}

describe('event streams', () => {
  test('show what is newest at once, and what comes', () => {
    const streams = eventStreams(4);
    streams.show(() => 'one');
    const client = new Client();
    expect(streams.open(client.out, 'a', null)).toBe(true);
    streams.show(() => 'two');
    expect(client.views()).toEqual(['one', 'two']);
    expect(client.written).toMatch(/^retry: 1000\n\n/);
  });

  test('a client that comes back with the last id is not told the same again; with that of another run it is', () => {
    const streams = eventStreams(4);
    streams.show(() => 'one');
    const client = new Client(), same = new Client(), other = new Client();
    streams.open(client.out, 'a', null);
    streams.open(same.out, 'a', client.lastId());
    streams.open(other.out, 'a', 'ffffffff-1');
    expect(same.views()).toEqual([]);
    expect(same.written).toMatch(/event: beat\ndata: \d+\n\n$/);
    expect(other.views()).toEqual(['one']);
    streams.show(() => 'two');
    expect(same.views()).toEqual(['two']);
  });

  test('a client that takes nothing is written one event however many come, then the newest alone', () => {
    const streams = eventStreams(4);
    streams.show(() => 0);
    const slow = new Client(1);
    streams.open(slow.out, 'a', null);
    const before = slow.written.length;
    for (let n = 1; n <= 10_000; n++) {
      streams.show(() => n);
      streams.beat();
    }
    expect(slow.written.length).toBe(before);
    slow.room = Infinity;
    slow.emit('drain');
    expect(slow.views()).toEqual([0, 10_000]);
  });

  test('are as many as allowed; the greediest address makes room for another, not for itself', () => {
    const streams = eventStreams(3);
    const greedy = [new Client(), new Client(), new Client()];
    for (const client of greedy) expect(streams.open(client.out, 'greedy', null)).toBe(true);
    expect(streams.open(new Client().out, 'greedy', null)).toBe(false);
    expect(streams.open(new Client().out, 'guest', null)).toBe(true);
    expect(greedy.map((c) => c.ended)).toEqual([true, false, false]);
    expect(streams.count).toBe(3);
    expect(streams.open(new Client().out, 'guest', null)).toBe(false);
    greedy[1]!.emit('close');
    expect(streams.count).toBe(2);
  });

  test('end when the watch does', () => {
    const streams = eventStreams(3);
    const client = new Client();
    streams.open(client.out, 'a', null);
    streams.closeAll();
    expect(client.ended).toBe(true);
    expect(streams.count).toBe(0);
  });
});
