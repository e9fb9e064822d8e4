/** What no relay would send: the server answers it with a refusal or a warning, never with a fault, and lives on. */
import { connect } from 'node:net';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { board } from '../../shared/protocol/board.ts';
import { packetsAnswer } from '../../shared/protocol/packet.ts';
import { openSocket, type RunningPost, runServer, send, until } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';

let post: RunningPost;
let token: string;
let viewer: string;
beforeAll(async () => {
  post = await runServer();
  [token, viewer] = await Promise.all([post.token('R1'), post.viewerToken()]);
});

const odd = fc.oneof(
  fc.anything({ maxDepth: 3, withNullPrototype: false }),
  fc.constantFrom(
    null,
    -0,
    1e308,
    -1e308,
    5e-324,
    2 ** 53,
    '\ud800',
    '__proto__',
    'constructor',
    '\u0000',
    'NaN',
    [],
    {},
    true,
  ),
);
const packet = fc.record(
  {
    monitor: fc.oneof(
      { weight: 5, arbitrary: fc.constantFrom('H-1', 'H-2') },
      { weight: 1, arbitrary: fc.string({ unit: 'binary' }) },
      { weight: 1, arbitrary: odd },
    ),
    boot: fc.oneof({ weight: 5, arbitrary: fc.constantFrom('b1', 'b2') }, { weight: 1, arbitrary: odd }),
    seq: fc.oneof({ weight: 5, arbitrary: fc.nat() }, { weight: 1, arbitrary: odd }),
    via: odd,
    measuredAt: fc.oneof(
      odd,
      fc.date({ noInvalidDate: true }).map((date) => date.toISOString()),
    ),
    sentAt: odd,
    ageMs: fc.oneof(odd, fc.double()),
    readings: fc.oneof(
      odd,
      fc.dictionary(
        fc.constantFrom('o2', 'lel', 'co', 'h2s', 'voc', 'gamma', 'x', '__proto__', ''),
        fc.record(
          {
            value: fc.oneof(fc.double(), odd),
            unit: fc.oneof(fc.constantFrom('ppm', '%vol', 'uR/h', 'Sv/h'), odd),
            flag: fc.oneof(fc.constantFrom('over-range', 'fault'), odd),
          },
          { requiredKeys: [] },
        ),
      ),
    ),
    status: fc.oneof(
      odd,
      fc.record(
        {
          motion: fc.oneof(fc.constantFrom('down', 'still', 'moving'), odd),
          help: odd,
          mode: odd,
          intervalMs: odd,
          battery: odd,
          pump: odd,
          zeroedAt: odd,
        },
        { requiredKeys: [] },
      ),
    ),
    position: fc.oneof(
      odd,
      fc.record({ lat: fc.oneof(fc.double(), odd), lon: fc.oneof(fc.double(), odd), usng: odd }, { requiredKeys: [] }),
    ),
    weather: odd,
    test: odd,
    simulated: odd,
  },
  { requiredKeys: ['monitor', 'boot', 'seq'] },
);

function jsonOf(value: unknown): string | null {
  try {
    return JSON.stringify(value) ?? null;
  } catch {
    return null; // BigInt and the like are no JSON
  }
}

describe('hostile input', () => {
  it('over HTTP gets a result a packet, and the board keeps its shape', { timeout: 60_000 }, async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(packet, { minLength: 1, maxLength: 40 }), async (packets) => {
        const body = jsonOf(packets);
        if (body === null) return;
        const answer = await postPackets(post, token, body);
        expect(answer.status).toBe(200);
        expect(packetsAnswer.parse(answer.body).results).toHaveLength(packets.length);
      }),
      { numRuns: 150 },
    );
    const now = await send(post, 'GET', '/api/v1/board', { headers: { authorization: `Bearer ${viewer}` } });
    expect(board.safeParse(now.body).error?.issues ?? []).toEqual([]);
  });

  it('as broken text is refused and nothing else', { timeout: 60_000 }, async () => {
    const good = JSON.stringify([sample('H-3', 1)]);
    await fc.assert(
      fc.asyncProperty(fc.nat(good.length - 1), fc.string({ maxLength: 3 }), fc.nat(20), async (at, put, drop) => {
        const answer = await postPackets(post, token, good.slice(0, at) + put + good.slice(at + drop));
        expect([200, 400]).toContain(answer.status);
      }),
      { numRuns: 150 },
    );
  });

  it('on the stream gets an answer for each frame', { timeout: 60_000 }, async () => {
    const relay = await openSocket(post, '/api/v1/relay', { authorization: `Bearer ${token}` });
    let sent = 0;
    await fc.assert(
      fc.asyncProperty(
        fc.oneof(
          fc.string({ unit: 'binary' }),
          odd.map(jsonOf),
          fc.record({ id: odd, packets: fc.oneof(odd, fc.array(packet)) }).map(jsonOf),
        ),
        async (frame) => {
          if (frame === null) return;
          relay.socket.send(frame);
          sent += 1;
        },
      ),
      { numRuns: 300 },
    );
    await until('all answers', () => relay.frames.length === sent);
    expect(relay.socket.readyState).toBe(relay.socket.OPEN);
    relay.socket.close();
  });

  it('that never ends is cut off and holds nobody up', { timeout: 40_000 }, async () => {
    const { port } = new URL(post.url);
    const slow = Array.from({ length: 50 }, () => {
      const socket = connect(Number(port), '127.0.0.1');
      socket.write(
        `POST /api/v1/packets HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer ${token}\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{`,
      );
      socket.resume();
      return new Promise<void>((resolve) => {
        socket.on('error', () => resolve());
        socket.on('close', () => resolve());
      });
    });
    const asked = performance.now();
    expect((await postPackets(post, token, sample('H-4', 1))).status).toBe(200);
    expect(performance.now() - asked).toBeLessThan(2_000);
    await Promise.all(slow);
  });

  it('leaves the server running without a word of fault', async () => {
    expect(post.isRunning()).toBe(true);
    expect((await send(post, 'GET', '/healthz')).status).toBe(200);
    expect(post.stderr()).not.toMatch(/"level":(50|60)/);
    expect(await post.stop()).toBe(0);
    const again = await runServer({ dataDir: post.dataDir });
    expect((await send(again, 'GET', '/healthz')).status).toBe(200);
  });
});
