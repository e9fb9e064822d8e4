import { beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { type LiveFrame, liveFrame } from '../../shared/protocol/frames.ts';
import { currentJournal, readJournal } from '../support/journal-files.ts';
import { openSocket, type RunningPost, runServer, type Socket, send, until } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';

let post: RunningPost;
let token: string;
let viewer: string;
beforeAll(async () => {
  post = await runServer();
  token = await post.token('R1');
  viewer = await post.viewerToken();
  // Alarms in standby would open an incident, which is a record of its own.
  const commander = await post.staff('commander');
  const opened = await commander.send('POST', '/api/v1/commands', { id: 'o', type: 'incident-open', name: 'Live' });
  expect(opened.body).toMatchObject({ status: 'done' });
});

type Of<T extends LiveFrame['type']> = Extract<LiveFrame, { type: T }>;
const live = (query = '', of: Pick<RunningPost, 'url'> = post): Promise<Socket> =>
  openSocket(of, `/api/v1/live${query}`, { authorization: `Bearer ${viewer}` });

function isOf<T extends LiveFrame['type']>(frame: LiveFrame, type: T): frame is Of<T> {
  return frame.type === type;
}

/** The first frame of that type (and for which `also` holds), checked against the schema like all before it. */
function nextOf<T extends LiveFrame['type']>(
  screen: Socket,
  type: T,
  also: (frame: Of<T>) => boolean = () => true,
  options = {},
) {
  return screen.next((raw) => {
    const frame = liveFrame.parse(raw);
    return isOf(frame, type) && also(frame) ? frame : null;
  }, options);
}

/** Calls that come and go: nearly each packet raises or ends something, at once. */
function restless(monitor: string, seq: number) {
  return sample(monitor, seq, { status: { help: seq % 2 === 0, motion: seq % 4 < 2 ? 'down' : 'moving' } });
}

async function give(body: unknown): Promise<void> {
  const answer = await postPackets(post, token, body);
  expect(answer.status).toBe(200);
}

describe('the live socket', () => {
  it('begins with a snapshot; then deltas with rising cursors, events without a hole, a heartbeat each second', async () => {
    const screen = await live();
    const snapshot = await nextOf(screen, 'snapshot');
    expect(screen.frames[0]).toMatchObject({ type: 'snapshot', cursor: snapshot.board.cursor });
    for (let seq = 0; seq < 40; seq += 1) await give(restless('L-1', seq));
    await nextOf(screen, 'delta', (delta) => delta.monitors.some(({ id }) => id === 'L-1'));
    const beats = [await nextOf(screen, 'heartbeat')];
    const mark = performance.now();
    for (let i = 0; i < 2; i += 1) {
      const from = screen.frames.length;
      beats.push(await nextOf(screen, 'heartbeat', () => true, { from }));
    }
    expect((performance.now() - mark) / 1000).toBeGreaterThan(0.9);
    expect((performance.now() - mark) / 1000).toBeLessThan(10);
    const frames = screen.frames.map((raw) => liveFrame.parse(raw));
    const cursors = frames.flatMap((frame) =>
      frame.type === 'delta' || frame.type === 'snapshot' || frame.type === 'heartbeat' ? [frame.cursor] : [],
    );
    expect(cursors).toEqual([...cursors].sort((a, b) => a - b));
    const numbers = frames.flatMap((frame) => (frame.type === 'event' ? [frame.number] : []));
    expect(numbers.length).toBeGreaterThan(20);
    expect(numbers).toEqual(numbers.map((_, i) => (numbers[0] ?? 0) + i));
    screen.socket.close();
  });

  it('gives a snapshot for a wrong epoch, a cursor of the future, and a resume that is not understood', async () => {
    const screen = await live();
    const { epoch, cursor } = await nextOf(screen, 'snapshot');
    screen.socket.close();
    for (const query of [
      `?epoch=other&cursor=${cursor}`,
      `?epoch=${epoch}&cursor=${cursor + 1_000_000}`,
      `?epoch=${epoch}`,
      `?epoch=${epoch}&cursor=x`,
      '?cursor=1',
    ]) {
      const again = await live(query);
      expect([query, (await again.next((frame) => liveFrame.parse(frame))).type]).toEqual([query, 'snapshot']);
      again.socket.close();
    }
    const resumed = await live(`?epoch=${epoch}&cursor=${cursor}`);
    expect((await resumed.next((frame) => liveFrame.parse(frame))).type).not.toBe('snapshot');
    resumed.socket.close();
  });

  it('gives a screen that is cut off at any moment exactly what it missed', { timeout: 150_000 }, async () => {
    const seed = Math.floor(Math.random() * 2 ** 31);
    console.info(`cuts with seed ${seed}`);
    const random = mulberry32(seed);
    let sending = true;
    const load = (async () => {
      for (let seq = 0; sending; seq += 1) await give([restless('L-2', seq), restless('L-3', seq), sample('L-4', seq)]);
    })();
    // Notes are no alarms: they are gathered for some milliseconds, so that frames hold records of several commits.
    const officer = await post.staff('officer');
    const notes = [1, 2, 3].map(async (writer) => {
      for (let i = 0; sending; i += 1) {
        await officer.send('POST', '/api/v1/commands', {
          id: `note-${writer}-${i}`,
          type: 'note',
          text: `${writer} ${i}`,
        });
      }
    });
    const events = new Map<number, string>();
    const views = new Map<string, unknown>();
    const alarms = new Map<string, unknown>();
    let at: { epoch: string; cursor: number } | null = null;
    let snapshots = 0;
    const take = (frame: LiveFrame) => {
      if (frame.type === 'snapshot') {
        snapshots += 1;
        at = { epoch: frame.epoch, cursor: frame.cursor };
        for (const monitor of frame.board.monitors) views.set(monitor.id, monitor.lastHeardAt);
        alarms.clear();
        for (const alarm of frame.board.alarms) alarms.set(alarm.id, alarm.state);
      } else if (frame.type === 'delta') {
        for (const monitor of frame.monitors) views.set(monitor.id, monitor.lastHeardAt);
        for (const id of frame.ended) alarms.delete(id);
        for (const alarm of frame.alarms) alarms.set(alarm.id, alarm.state);
      } else if (frame.type === 'event') {
        const text = JSON.stringify(frame.event);
        const known = events.get(frame.number);
        if (known !== undefined) expect(text).toBe(known);
        events.set(frame.number, text);
      }
      if (frame.type !== 'gone' && at !== null && frame.cursor > at.cursor) at = { ...at, cursor: frame.cursor };
    };
    try {
      for (let cut = 0; cut < 200; cut += 1) {
        const resume: { epoch: string; cursor: number } | null = at;
        const screen: Socket = await live(
          resume === null ? '' : `?epoch=${resume['epoch']}&cursor=${resume['cursor']}`,
        );
        // Some are cut off within what they missed and get no further; most have caught up, and go some frames on.
        const caughtUp = cut > 0 && random() < 0.7;
        if (caughtUp) await nextOf(screen, 'delta');
        const isDelta = (raw: unknown) => liveFrame.parse(raw).type === 'delta';
        const begun = caughtUp ? screen.frames.findIndex(isDelta) + 1 : 0;
        const wanted = begun + (cut === 0 ? 1 : Math.floor(random() * 8));
        await until('frames', () => screen.frames.length >= wanted);
        screen.socket.terminate();
        // The cut lies between any two frames: what came in the same piece after it counts as lost on the way.
        for (const raw of screen.frames.slice(0, wanted)) take(liveFrame.parse(raw));
      }
    } finally {
      sending = false;
      await Promise.all([load, ...notes]);
    }
    const resume: { epoch: string; cursor: number } | null = at;
    const last = await live(`?epoch=${resume?.['epoch']}&cursor=${resume?.['cursor']}`);
    const board = z.object({
      alarms: z.array(z.object({ id: z.string(), state: z.string() })),
      monitors: z.array(z.object({ id: z.string(), lastHeardAt: z.string() })),
    });
    await nextOf(last, 'heartbeat');
    for (const raw of last.frames) take(liveFrame.parse(raw));
    const now = board.parse(
      (await send(post, 'GET', '/api/v1/board', { headers: { authorization: `Bearer ${viewer}` } })).body,
    );
    expect(Object.fromEntries(alarms)).toEqual(Object.fromEntries(now.alarms.map(({ id, state }) => [id, state])));
    expect(Object.fromEntries(views)).toEqual(
      Object.fromEntries(now.monitors.map(({ id, lastHeardAt }) => [id, lastHeardAt])),
    );
    expect(snapshots).toBe(1);

    const numbers = [...events.keys()].sort((a, b) => a - b);
    const first = numbers[0] ?? 0;
    const newest = numbers.at(-1) ?? 0;
    expect(numbers).toEqual(Array.from({ length: newest - first + 1 }, (_, i) => first + i));
    const journalled = await until('the events are in the journal', () => {
      const found = new Map<number, string>();
      for (const record of readJournal(currentJournal(post.dataDir))) {
        if (record.kind === 'event') found.set(record.number, JSON.stringify(record.event));
      }
      return found.has(newest) ? found : null;
    });
    for (const number of numbers) expect([number, events.get(number)]).toEqual([number, journalled.get(number)]);
    last.socket.close();
  });

  it('does not let a screen that reads nothing hold up the others, and owes it every change of an alarm', {
    timeout: 150_000,
  }, async () => {
    const slow = await live();
    const quick = await live();
    const start = await nextOf(slow, 'snapshot');
    const memory = async () =>
      Number(/^process_resident_memory_bytes (\d+)/m.exec(await (await fetch(`${post.url}/metrics`)).text())?.[1]);
    const before = await memory();
    slow.socket.pause();
    const monitors = Array.from({ length: 40 }, (_, i) => `Z-${i}`);
    // About 16 kB a round for each screen: more than the sockets of a loopback connection hold.
    for (let seq = 0; seq < 500; seq += 1) {
      await give([
        ...monitors.map((id) => sample(id, seq)),
        ...(seq % 10 === 0 ? [restless('Z-0', 100_000 + seq / 10)] : []),
      ]);
    }
    const newest = await nextOf(
      quick,
      'delta',
      (delta) => delta.monitors.some(({ id }) => id === 'Z-39') && delta.cursor > start.cursor + 18_000,
    );
    expect(newest.cursor).toBeGreaterThan(start.cursor);
    expect(await memory()).toBeLessThan(before + 150e6);
    const unread = slow.frames.length;
    slow.socket.resume();
    const caughtUp = await nextOf(slow, 'heartbeat', (beat) => beat.cursor >= newest.cursor, { withinMs: 20_000 });
    expect(caughtUp.cursor).toBeGreaterThanOrEqual(newest.cursor);
    const eventsOf = (screen: Socket) =>
      screen.frames
        .map((raw) => liveFrame.parse(raw))
        .flatMap((frame) => (frame.type === 'event' ? [frame.number] : []));
    await nextOf(quick, 'heartbeat', (beat) => beat.cursor >= newest.cursor);
    const told = eventsOf(slow);
    expect(told).toEqual(told.map((_, i) => (told[0] ?? 0) + i));
    const common = Math.min(Math.max(...told), Math.max(...eventsOf(quick)));
    expect(told.filter((n) => n <= common)).toEqual(eventsOf(quick).filter((n) => n <= common));
    const frames = slow.frames.slice(unread).map((raw) => liveFrame.parse(raw));
    expect(frames.some((frame) => frame.type === 'delta' && (frame.skipped ?? 0) > 0)).toBe(true);
    slow.socket.close();
    quick.socket.close();
  });

  it('says why it goes', async () => {
    const own = await runServer();
    const secret = await own.viewerToken();
    const screen = await openSocket(own, '/api/v1/live', { authorization: `Bearer ${secret}` });
    await nextOf(screen, 'snapshot');
    expect(await own.stop()).toBe(0);
    expect((await nextOf(screen, 'gone')).reason).toMatch(/shutting down/);
    expect(await screen.closed).toBe(1001);
  });

  it('opens to a page of this post alone', async () => {
    const person = await post.staff('viewer');
    const open = async (headers: Record<string, string>) => {
      const screen = await openSocket(post, '/api/v1/live', headers).catch((error: Error) => error.message);
      if (typeof screen === 'string') return screen;
      screen.socket.close();
      return 'open';
    };
    expect(await open(person.headers)).toBe('open');
    expect(await open({ cookie: person.headers['cookie'] ?? '' })).toBe('the upgrade was answered 403');
    expect(await open({ ...person.headers, origin: 'https://elsewhere.example' })).toBe('the upgrade was answered 403');
    expect(await open({ authorization: `Bearer ${viewer}`, origin: 'https://elsewhere.example' })).toBe(
      'the upgrade was answered 403',
    );
    expect(await open({})).toBe('the upgrade was answered 401');
    expect(await open({ authorization: `Bearer ${token}` })).toBe('the upgrade was answered 403');
  });

  it('closes the screens of a session that ended', async () => {
    const own = await runServer();
    const person = await own.staff('officer');
    const screen = await openSocket(own, '/api/v1/live', person.headers);
    await nextOf(screen, 'snapshot');
    expect((await person.send('DELETE', '/api/v1/session')).status).toBe(204);
    expect(await screen.closed).toBe(1001);
  });
});

/** A small seeded generator (mulberry32, public domain), so that a failing run can be repeated. */
function mulberry32(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}
