import { once } from 'node:events';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { z } from 'zod';
import { simulateCommand } from '../../server/simulator/cli.ts';
import type { Clock } from '../../server/simulator/clock.ts';
import type { ScenarioCommand } from '../../server/simulator/commands.ts';
import { RequestRefusedError } from '../../server/simulator/relay-sender.ts';
import { demonstrationScenario } from '../../server/simulator/scenario.ts';
import { runSimulation } from '../../server/simulator/send.ts';
import { packet as packetSchema, type WirePacket } from '../../shared/protocol/packet.ts';

const scenario = demonstrationScenario();
const START = Date.parse('2026-05-14T13:00:00.000Z');

/** A clock that jumps to the next moment somebody waits for, once every request has been answered. */
function jumpingTime(): { clock: Clock; fetch: typeof fetch } {
  let now = START;
  let inFlight = 0;
  let jumping = false;
  let waiters: { at: number; wake: () => void }[] = [];

  async function jump() {
    if (jumping) return;
    jumping = true;
    while (waiters.length > 0) {
      do {
        for (let i = 0; i < 3; i += 1) await new Promise((resolve) => setImmediate(resolve));
      } while (inFlight > 0);
      const next = waiters.toSorted((a, b) => a.at - b.at)[0];
      if (next === undefined) break;
      waiters = waiters.filter((waiter) => waiter !== next);
      now = Math.max(now, next.at);
      next.wake();
    }
    jumping = false;
  }

  return {
    clock: {
      now: () => now,
      wait: (ms, signal) =>
        new Promise((resolve) => {
          const wake = () => {
            signal.removeEventListener('abort', wake);
            resolve();
          };
          if (signal.aborted) wake();
          signal.addEventListener('abort', wake);
          waiters.push({ at: now + ms, wake });
          void jump();
        }),
    },
    fetch: async (input, init) => {
      inFlight += 1;
      try {
        const response = await fetch(input, init);
        return new Response(await response.text(), { status: response.status, headers: response.headers });
      } finally {
        inFlight -= 1;
      }
    },
  };
}

type Answer = { status: number; headers?: Record<string, string>; body?: unknown } | 'hang-up' | undefined;

/** A post that keeps what it stored; `misbehave` may answer a request in its place. */
async function startPost(misbehave: (request: number, packets: WirePacket[]) => Answer = () => undefined) {
  const stored = new Map<string, WirePacket>();
  const order: WirePacket[] = [];
  const authorizations = new Set<string | undefined>();
  let requests = 0;
  async function handle(request: IncomingMessage, response: ServerResponse) {
    const chunks: Buffer[] = [];
    for await (const chunk of request) chunks.push(chunk);
    const packets = z.array(packetSchema).parse(JSON.parse(Buffer.concat(chunks).toString('utf8')));
    authorizations.add(request.headers.authorization);
    requests += 1;
    const wanted = misbehave(requests, packets);
    if (wanted === 'hang-up') {
      request.socket.destroy();
      return;
    }
    if (wanted !== undefined) {
      response.writeHead(wanted.status, { 'content-type': 'application/json', ...wanted.headers });
      response.end(JSON.stringify(wanted.body ?? {}));
      return;
    }
    const results = packets.map((packet) => {
      const key = `${packet.monitor}/${packet.boot}/${packet.seq}`;
      if (stored.has(key)) return { status: 'duplicate' };
      stored.set(key, packet);
      order.push(packet);
      return { status: 'stored', cursor: order.length };
    });
    response.writeHead(200, { 'content-type': 'application/json' });
    response.end(JSON.stringify({ results, postTime: new Date(START).toISOString() }));
  }
  const server = createServer((request, response) => void handle(request, response));
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const address = server.address();
  const port = typeof address === 'object' && address !== null ? address.port : 0;
  stops.push(async () => {
    server.closeAllConnections();
    server.close();
    await once(server, 'close');
  });
  return { url: `http://127.0.0.1:${port}`, stored, order, authorizations, requestCount: () => requests };
}

const stops: (() => Promise<void>)[] = [];
afterEach(async () => {
  vi.restoreAllMocks();
  for (const stop of stops.splice(0)) await stop();
});

function run(url: string, more: Partial<Parameters<typeof runSimulation>[0]> = {}) {
  return runSimulation({
    url,
    tokenFor: 'secret',
    scenario,
    seed: 1,
    run: 'test',
    durationMs: 30_000,
    ...jumpingTime(),
    ...more,
  });
}

/** Thirty seconds of ten monitors at one packet a second. */
const IN_THIRTY_SECONDS = 300;

describe('sending', () => {
  test('sends every packet once, marked as simulated, with the token', async () => {
    const post = await startPost();
    const report = await run(post.url);
    expect(report).toMatchObject({
      stored: IN_THIRTY_SECONDS,
      duplicate: 0,
      rejected: 0,
      unsent: 0,
      retries: 0,
    });
    expect(post.stored.size).toBe(IN_THIRTY_SECONDS);
    expect([...post.authorizations]).toEqual(['Bearer secret']);
    expect(post.order.every((p) => p.simulated === true)).toBe(true);
  });

  test('leaves the mark away where that is asked for, and takes a token for each relay', async () => {
    const post = await startPost();
    await run(post.url, { markSimulated: false, tokenFor: (relay) => `t-${relay}`, durationMs: 3000 });
    expect(post.order.some((p) => p.simulated !== undefined)).toBe(false);
    expect([...post.authorizations].toSorted()).toEqual([
      'Bearer t-relay-north',
      'Bearer t-relay-south',
      'Bearer t-relay-west',
    ]);
  });

  test('packets say truly when they were measured, and not in the future when they were sent', async () => {
    const post = await startPost();
    await run(post.url, { speed: 20, durationMs: 5000 });
    expect(post.stored.size).toBe(1000); // 100 s of the scenario
    for (const packet of post.order) {
      const measured = Date.parse(packet.measuredAt ?? '');
      expect(measured).toBeGreaterThanOrEqual(START + packet.seq * 50 - 1);
      expect(measured).toBeLessThanOrEqual(START + packet.seq * 50 + 51);
      expect(Date.parse(packet.sentAt ?? '')).toBeGreaterThanOrEqual(measured);
      expect(packet.status?.intervalMs).toBe(50);
    }
  });

  test('tells when the monitors were made ready', async () => {
    const post = await startPost();
    await run(post.url, { durationMs: 1000 });
    const m07 = post.order.find((p) => p.monitor === 'M-07');
    expect(m07?.status?.zeroedAt).toBe('2026-05-14T12:35:00.000Z');
    expect(m07?.status?.bumpedAt).toBe('2026-05-14T12:20:00.000Z');
    expect(m07?.status?.calibratedAt).toBe('2026-05-08T13:00:00.000Z');
  });

  test('keeps the order of a relay that was away: newest first, and old measurements with their age', async () => {
    const post = await startPost();
    await run(post.url, { durationMs: 240_000 });
    const north = post.order.filter((p) => p.monitor === 'M-14');
    const firstAfter = north.findIndex((p) => Date.parse(p.sentAt ?? '') >= START + 225_000);
    expect(north[firstAfter]?.seq).toBeGreaterThanOrEqual(223);
    const late = north.find((p) => p.seq === 160);
    expect(Date.parse(late?.sentAt ?? '') - Date.parse(late?.measuredAt ?? '')).toBeGreaterThan(60_000);
  });
});

describe('a server in trouble', () => {
  test.each<[string, Answer]>([
    ['is full (503)', { status: 503, headers: { 'retry-after': '2' } }],
    ['is too fast for (429)', { status: 429, headers: { 'retry-after': '1' } }],
    ['fails (500)', { status: 500 }],
    ['hangs up', 'hang-up'],
  ])('that %s gets everything in the end', async (_, trouble) => {
    const post = await startPost((request) => (request % 3 === 2 ? trouble : undefined));
    const report = await run(post.url, { durationMs: 20_000 });
    expect(report.unsent).toBe(0);
    expect(report.stored).toBe(200);
    expect(report.retries).toBeGreaterThan(0);
    expect(post.stored.size).toBe(200);
  });

  test('that stored and then hung up is told again: duplicates, not losses', async () => {
    const kept = new Set<string>();
    const post = await startPost((request, packets) => {
      const results = packets.map((p) => {
        const key = `${p.monitor}/${p.seq}`;
        const status = kept.has(key) ? 'duplicate' : 'stored';
        kept.add(key);
        return { status };
      });
      if (request === 2) return 'hang-up';
      return { status: 200, body: { results, postTime: new Date(START).toISOString() } };
    });
    const report = await run(post.url, { durationMs: 5000 });
    expect(kept.size).toBe(50);
    expect(report.duplicate).toBeGreaterThan(0);
    expect(report.stored + report.duplicate).toBe(50);
  });

  test('waits as long as Retry-After says', async () => {
    const waits: number[] = [];
    const { clock, fetch } = jumpingTime();
    const post = await startPost((request) =>
      request === 1 ? { status: 503, headers: { 'retry-after': '7' } } : undefined,
    );
    await run(post.url, {
      durationMs: 1000,
      fetch,
      clock: {
        now: clock.now,
        wait: (ms, signal) => {
          waits.push(ms);
          return clock.wait(ms, signal);
        },
      },
    });
    expect(waits).toContain(7000);
  });

  test('after an outage gets the newest of each monitor first', async () => {
    let away = true;
    const post = await startPost(() => (away ? { status: 503 } : undefined));
    await run(post.url, {
      durationMs: 20_000,
      monitors: 4,
      onProgress: (p) => {
        if (p.scenarioMs > 12_000) away = false;
      },
    });
    const heads = post.order.slice(0, 4);
    expect(new Set(heads.map((p) => p.monitor)).size).toBe(4);
    const rest = post.order.slice(4, 24).map((p) => p.seq);
    expect(Math.min(...heads.map((p) => p.seq))).toBeGreaterThan(Math.max(...rest.slice(0, 8)));
    expect(post.stored.size).toBe(80);
  });

  test('that finds requests too large gets smaller ones', async () => {
    const post = await startPost((_, packets) => (packets.length > 3 ? { status: 413 } : undefined));
    const report = await run(post.url, { durationMs: 10_000, speed: 4 });
    expect(report).toMatchObject({ stored: 400, unsent: 0 });
  });

  test.each([401, 403, 404])('that refuses with %i ends the run with an error', async (status) => {
    const post = await startPost(() => ({ status }));
    await expect(run(post.url)).rejects.toThrow(RequestRefusedError);
    expect(post.requestCount()).toBeLessThan(10);
  });

  test('that answers something else is not taken for a post', async () => {
    const post = await startPost(() => ({ status: 200, body: { hello: 'there' } }));
    await expect(run(post.url)).rejects.toThrow('not that of an Upwind server');
  });

  test('rejections and warnings are counted', async () => {
    const post = await startPost((_, packets) => ({
      status: 200,
      body: {
        postTime: new Date(START).toISOString(),
        results: packets.map((_p, i) =>
          i === 0
            ? {
                status: 'rejected',
                error: { code: 'simulated', path: '', message: 'a real incident is open' },
              }
            : { status: 'stored', warnings: [{ code: 'unit-unknown', path: 'x', message: 'x' }] },
        ),
      },
    }));
    const report = await run(post.url, { durationMs: 2000 });
    expect(report.rejected).toBeGreaterThan(0);
    expect(report.warnings).toBe(report.stored);
    expect(report.firstRejection).toBe('simulated: a real incident is open');
  });
});

describe('the course of a run', () => {
  test('gives the commands when they are due; entries again when it repeats, assignments not', async () => {
    const post = await startPost();
    const commands: (ScenarioCommand & { readonly givenAtMs: number })[] = [];
    const { clock, fetch } = jumpingTime();
    const speed = 50;
    await run(post.url, {
      clock,
      fetch,
      speed,
      monitors: 2,
      durationMs: 20_000,
      onCommand: (command) => {
        commands.push({ ...command, givenAtMs: (clock.now() - START) * speed });
      },
    });
    expect(commands.filter((c) => c.type === 'assign')).toHaveLength(10);
    const hot = commands.filter((c) => c.type === 'entry' && c.entrant === 'E1-A' && c.zone === 'hot');
    expect(hot.map((c) => c.atMs)).toEqual([74_000, 974_000]);
    for (const command of commands) expect(command.givenAtMs).toBeGreaterThanOrEqual(command.atMs);
  });

  test('ends with the error of a command that fails', async () => {
    const post = await startPost();
    const onCommand = () => Promise.reject(new Error('no such incident'));
    await expect(run(post.url, { onCommand })).rejects.toThrow('no such incident');
  });

  test('ends when the signal aborts and says what was not sent', async () => {
    const post = await startPost(() => ({ status: 503 }));
    const stop = new AbortController();
    const report = await run(post.url, {
      signal: stop.signal,
      onProgress: (p) => {
        if (p.scenarioMs > 5000) stop.abort();
      },
    });
    expect(report.stored).toBe(0);
    expect(report.unsent).toBeGreaterThan(40);
  });
});

describe('upwind simulate', () => {
  function capture() {
    const out: string[] = [];
    const err: string[] = [];
    vi.spyOn(console, 'log').mockImplementation((line: unknown) => void out.push(String(line)));
    vi.spyOn(console, 'error').mockImplementation((line: unknown) => void err.push(String(line)));
    return { out, err };
  }

  test('plays for the time asked, prints what became of the packets and ends well', async () => {
    const post = await startPost();
    const { out, err } = capture();
    const code = await simulateCommand(['--url', post.url, '--token', 't', '--duration', '0.4', '--speed', '50']);
    expect(err).toEqual([]);
    expect(code).toBe(0);
    expect(out.at(-1)).toBe('stored 200, duplicate 0, rejected 0, warnings 0, not sent 0');
  });

  test('has a help text', async () => {
    const { out } = capture();
    expect(await simulateCommand(['--help'])).toBe(0);
    expect(out.join('\n')).toContain('Usage: upwind simulate --url URL --token TOKEN');
  });

  test.each([
    [[], '--url'],
    [['--url', 'http://127.0.0.1:1'], '--token'],
    [['--url', 'not an address', '--token', 't'], '--url'],
    [['--url', 'http://x', '--token', 't', '--seed', '1.5'], '--seed'],
    [['--url', 'http://x', '--token', 't', '--speed', '0'], '--speed'],
    [['--url', 'http://x', '--token', 't', '--monitors', 'many'], '--monitors'],
    [['--url', 'http://x', '--token', 't', '--duration', '-3'], '--duration'],
    [['--url', 'http://x', '--token', 't', '--colour', 'red'], '--colour'],
  ])('refuses wrong use in one line: %j', async (argv, named) => {
    const { err } = capture();
    expect(await simulateCommand(argv)).toBe(2);
    expect(err).toHaveLength(1);
    expect(err[0]).toContain(named);
    expect(err[0]).not.toContain('\n');
  });

  test('fails in one line where the scenario cannot be read or the token is wrong', async () => {
    const { err } = capture();
    const missing = ['--url', 'http://127.0.0.1:1', '--token', 't', '--scenario', 'no-such-file.json'];
    expect(await simulateCommand(missing)).toBe(1);
    expect(err[0]).toMatch(/^upwind simulate: scenario no-such-file\.json is unreadable: /);
    const post = await startPost(() => ({ status: 401 }));
    expect(await simulateCommand(['--url', post.url, '--token', 'wrong', '--duration', '5'])).toBe(1);
    expect(err[1]).toContain('the token is not known');
  });
});
