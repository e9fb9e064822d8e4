import { beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { board } from '../../shared/protocol/board.ts';
import { monitorPackets } from '../../shared/protocol/history.ts';
import { packetsAnswer } from '../../shared/protocol/packet.ts';
import { type RunningPost, runServer, send, until } from '../support/run-server.ts';
import { CLEAN, postPackets, sample } from '../support/sample-packets.ts';

let post: RunningPost;
let token: string;
let viewer: string;
beforeAll(async () => {
  post = await runServer();
  token = await post.token('R1');
  viewer = await post.viewerToken();
});

const bearer = (secret: string) => ({ authorization: `Bearer ${secret}` });
const errorCode = z.object({ error: z.object({ code: z.string() }) });

async function boardNow() {
  const answer = await send(post, 'GET', '/api/v1/board', { headers: bearer(viewer) });
  expect(answer.status).toBe(200);
  return board.parse(answer.body);
}

/** Posts and expects 200; the results, one a packet. */
async function taken(body: unknown) {
  const answer = await postPackets(post, token, body);
  expect(answer.status).toBe(200);
  return packetsAnswer.parse(answer.body);
}

async function rowOf(id: string) {
  const row = (await boardNow()).monitors.find((monitor) => monitor.id === id);
  if (row === undefined) throw new Error(`${id} is not on the board`);
  return row;
}

describe('POST /api/v1/packets', () => {
  it('takes one object, and an array, and answers one result each in order with rising cursors', async () => {
    const one = await taken(sample('A-1', 1));
    expect(one.results).toEqual([{ status: 'stored', cursor: expect.any(Number) }]);
    expect(Math.abs(Date.parse(one.postTime) - Date.now())).toBeLessThan(5_000);
    const many = await taken([sample('A-1', 2), sample('A-2', 1), { bad: true }, sample('A-1', 3)]);
    expect(many.results.map((result) => result.status)).toEqual(['stored', 'stored', 'rejected', 'stored']);
    const cursors = many.results.flatMap((result) => result.cursor ?? []);
    expect(cursors).toEqual([...cursors].sort((a, b) => a - b));
    expect(new Set(cursors).size).toBe(3);
    expect((await taken([])).results).toEqual([]);
  });

  it('takes 1,000 packets, and nothing of 1,001', async () => {
    const many = (boot: string, count: number) =>
      Array.from({ length: count }, (_, i) => ({
        monitor: 'A-3',
        boot,
        seq: i,
        ageMs: 0,
        readings: { co: { value: 1, unit: 'ppm' } },
      }));
    const full = await taken(many('b1', 1000));
    expect(full.results.every((result) => result.status === 'stored')).toBe(true);
    const over = await postPackets(post, token, many('b2', 1001));
    expect([over.status, errorCode.parse(over.body).error.code]).toEqual([413, 'too-many']);
    expect((await taken(many('b2', 1))).results[0]?.status).toBe('stored');
  });

  it('refuses 5 MB and what is not JSON, and says so', async () => {
    const big = await postPackets(
      post,
      token,
      JSON.stringify({ ...sample('A-1', 9), pad: 'x'.repeat(5_000_000) }),
    ).catch(() => null);
    if (big !== null) expect(big.status).toBe(413); // the connection may be cut while the rest is still on its way
    const nearly = await postPackets(post, token, JSON.stringify([sample('A-4', 1, { pad: 'x'.repeat(2_000_000) })]));
    expect(nearly.status).toBe(200);
    for (const text of ['{', '', 'null x', '{"monitor":NaN}', '{"a":1e}', '[1,]']) {
      const answer = await postPackets(post, token, text);
      expect([text, answer.status, errorCode.parse(answer.body).error.code]).toEqual([text, 400, 'not-json']);
    }
    const untyped = (body?: string) =>
      fetch(`${post.url}/api/v1/packets`, {
        method: 'POST',
        headers: { ...bearer(token), ...(body === undefined ? {} : { 'content-type': 'text/plain' }) },
        ...(body === undefined ? {} : { body }),
      });
    expect((await untyped()).status).toBe(400);
    expect((await untyped('no json')).status).toBe(400);
    const named = await untyped(JSON.stringify(sample('A-4', 2)));
    expect(packetsAnswer.parse(await named.json()).results[0]?.status).toBe('stored');
  });

  it('refuses whole only what has no usable monitor, boot or seq', async () => {
    const ok = sample('A-5', 0);
    const bad: [unknown, string][] = [
      [null, ''],
      [7, ''],
      ['text', ''],
      [[ok], ''],
      [{}, 'monitor'],
      [{ ...ok, monitor: 7 }, 'monitor'],
      [{ ...ok, monitor: '' }, 'monitor'],
      [{ ...ok, monitor: 'x'.repeat(65) }, 'monitor'],
      [{ ...ok, monitor: 'a\nb' }, 'monitor'],
      [{ ...ok, boot: undefined }, 'boot'],
      [{ ...ok, boot: 3 }, 'boot'],
      [{ ...ok, seq: -1 }, 'seq'],
      [{ ...ok, seq: 1.5 }, 'seq'],
      [{ ...ok, seq: '1' }, 'seq'],
      [{ ...ok, seq: 2 ** 53 }, 'seq'],
      [{ ...ok, seq: null }, 'seq'],
    ];
    const { results } = await taken(bad.map(([packet]) => packet));
    expect(results.map((result) => [result.status, result.error?.code, result.error?.path])).toEqual(
      bad.map(([, path]) => ['rejected', 'invalid', path]),
    );
    const edge = await taken([
      { ...ok, seq: Number.MAX_SAFE_INTEGER },
      { ...ok, seq: 0 },
    ]);
    expect(edge.results.map((result) => result.status)).toEqual(['stored', 'stored']);
  });

  it('gives every warning its code and path, and keeps the good beside the bad', async () => {
    const { results } = await taken([
      sample('A-6', 1, {
        measuredAt: 'yesterday',
        readings: {
          ...CLEAN,
          co: { value: 'NaN', unit: 'ppm' },
          h2s: { value: 3, unit: 'furlong' },
          voc: { value: 3 },
          lel: 4,
          gamma: { value: 1, unit: 'ppm' },
          'Bad Key': { value: 1, unit: 'ppm' },
        },
        status: { battery: 'full', pump: 'running', motion: 'moving', linkQuality: 101 },
        position: { lat: 91, lon: 0 },
        weather: { windFrom: -1 },
        test: 'yes',
        ageMs: -1,
      }),
      sample('A-6', 2, {
        measuredAt: '1970-01-01T00:00:05.000Z',
        sentAt: '2099-01-01T00:00:00.000Z',
        ageMs: undefined,
      }),
    ]);
    const told = (i: number) => (results[i]?.warnings ?? []).map(({ code, path }) => `${code} ${path}`).sort();
    expect(results.map((result) => result.status)).toEqual(['stored', 'stored']);
    expect(told(0)).toEqual(
      [
        'field-invalid ageMs',
        'field-invalid measuredAt',
        'field-invalid position.lat',
        'field-invalid readings.Bad Key',
        'field-invalid status.battery',
        'field-invalid status.linkQuality',
        'field-invalid test',
        'field-invalid weather.windFrom',
        'unit-missing readings.lel',
        'unit-missing readings.voc.unit',
        'unit-unknown readings.gamma.unit',
        'unit-unknown readings.h2s.unit',
        'value-invalid readings.co.value',
      ].sort(),
    );
    expect(told(1)).toEqual(['clock-unknown measuredAt', 'clock-unknown sentAt']);
  });

  it('shows what was not understood as such, never the old value as new', async () => {
    await taken(sample('A-7', 1, { readings: { co: { value: 12, unit: 'ppm' }, o2: { value: 20.9, unit: '%vol' } } }));
    await taken(sample('A-7', 2, { readings: { co: { value: 13 }, o2: { value: 20.8, unit: '%vol' } } }));
    const { readings } = await rowOf('A-7');
    expect(readings.co).toMatchObject({ value: null, flag: 'not-understood', standing: 'unusable' });
    expect(readings.o2).toMatchObject({ value: 20.8, unit: '%vol', raw: { value: 20.8, unit: '%vol' } });
  });

  it('takes 1e400 as what it is: no finite number', async () => {
    const text = JSON.stringify(sample('A-8', 1)).replace('"co":{"value":0', '"co":{"value":1e400');
    const { results } = await taken(text);
    expect(results[0]?.warnings).toMatchObject([{ code: 'value-invalid', path: 'readings.co.value' }]);
  });

  it('keeps keys it does not know, the dangerous ones too, and stays well', async () => {
    const text = JSON.stringify(sample('A-9', 1, { later: { a: [1] } })).replace(
      '"later"',
      '"__proto__":{"x":1},"constructor":{"prototype":{"y":1}},"later"',
    );
    expect((await taken(text)).results[0]).toMatchObject({ status: 'stored' });
    const deep = `${'['.repeat(50_000)}${']'.repeat(50_000)}`;
    const nested = await postPackets(
      post,
      token,
      JSON.stringify(sample('A-9', 2, { deep: 0 })).replace('"deep":0', `"deep":${deep}`),
    );
    expect(nested.status).toBe(200);
    expect((await send(post, 'GET', '/healthz')).status).toBe(200);
  });
});

describe('who may post packets', () => {
  it('is a relay’s token alone', async () => {
    const body = sample('A-10', 1);
    const ask = async (headers: Record<string, string>) => {
      const answer = await send(post, 'POST', '/api/v1/packets', { headers, body });
      return [answer.status, answer.status === 200 ? null : errorCode.parse(answer.body).error.code];
    };
    expect(await ask({})).toEqual([401, 'unauthenticated']);
    expect(await ask(bearer('uw_wrong'))).toEqual([401, 'unauthenticated']);
    expect(await ask({ authorization: 'Bearer' })).toEqual([401, 'unauthenticated']);
    expect(await ask({ authorization: `Basic ${token}` })).toEqual([401, 'unauthenticated']);
    expect(await ask(bearer(viewer))).toEqual([403, 'forbidden']);
    const officer = await post.staff('officer');
    expect(await ask(officer.headers)).toEqual([403, 'forbidden']);
    // A token is judged alone: a cookie beside it neither helps nor harms.
    expect(await ask({ ...officer.headers, ...bearer(token) })).toEqual([200, null]);
    expect(await ask({ ...officer.headers, ...bearer('uw_wrong') })).toEqual([401, 'unauthenticated']);
  });
});

describe('duplicates and conflicts', () => {
  it('are told apart by content; age, time of sending and link quality are not compared', async () => {
    const first = sample('C-1', 1, { ageMs: 0, status: { pump: 'running', motion: 'moving', linkQuality: 80 } });
    const stored = (await taken(first)).results[0];
    const again = (
      await taken([
        first,
        { ...first, ageMs: 5000 },
        { ...first, sentAt: '2026-05-14T13:05:09.900Z' },
        { ...first, status: { linkQuality: 3, motion: 'moving', pump: 'running' } },
        { ...first, status: { ...(first.status as object), battery: 5 } },
      ])
    ).results;
    expect(again.slice(0, 4)).toEqual(Array(4).fill({ status: 'duplicate', cursor: stored?.cursor }));
    expect(again[4]).toMatchObject({
      status: 'rejected',
      cursor: stored?.cursor,
      error: { code: 'conflict', path: 'seq' },
    });
    const inOne = (await taken([sample('C-2', 1), sample('C-2', 1), sample('C-2', 1, { readings: {} })])).results;
    expect(inOne.map((result) => result.status)).toEqual(['stored', 'duplicate', 'rejected']);
    const viaTwo = (await taken([sample('C-2', 1, { via: 'r1' }), sample('C-2', 1, { via: 'r2' })])).results;
    expect(viaTwo.map((result) => result.status)).toEqual(['stored', 'stored']);
  });

  it('are told once, when the same comes many times at once', async () => {
    const packet = sample('C-3', 1);
    const answers = await Promise.all(Array.from({ length: 20 }, () => taken(packet)));
    const statuses = answers.map(({ results }) => results[0]?.status);
    expect(statuses.filter((status) => status === 'stored')).toHaveLength(1);
    expect(statuses.filter((status) => status === 'duplicate')).toHaveLength(19);
    expect(new Set(answers.map(({ results }) => results[0]?.cursor)).size).toBe(1);
  });

  it('let a sequence go back: what is new is stored, whatever its number', async () => {
    const numbers = [10, 11, 5, 12, 6, 0];
    const { results } = await taken(numbers.map((seq) => sample('C-4', seq)));
    expect(results.every((result) => result.status === 'stored')).toBe(true);
  });
});

describe('times that cannot be right', () => {
  it('are stored with a warning, and what they carry still sounds', async () => {
    const danger = { h2s: { value: 90, unit: 'ppm' } };
    const wild = [
      ['W-1', { measuredAt: '1970-01-01T00:00:00Z' }],
      ['W-2', { measuredAt: '2099-06-01T00:00:00Z' }],
      ['W-3', { measuredAt: '1970-01-01T00:00:00Z', sentAt: '1970-01-01T00:00:02Z' }],
    ] as const;
    for (const [monitor, time] of wild) {
      const { results } = await taken(sample(monitor, 1, { ageMs: undefined, ...time, readings: danger }));
      expect(results[0]).toMatchObject({ status: 'stored' });
      expect(results[0]?.warnings?.every(({ code }) => code === 'clock-unknown')).toBe(true);
      expect(results[0]?.warnings?.length).toBeGreaterThan(0);
    }
    const { alarms, monitors } = await boardNow();
    for (const [monitor] of wild) {
      expect(alarms.filter((alarm) => alarm.monitor === monitor && alarm.priority === 'danger')).not.toEqual([]);
      expect(monitors.find(({ id }) => id === monitor)).toMatchObject({ link: 'live' });
    }
  });
});

describe('a packet that cannot be taken', () => {
  it('shows on the row of its monitor, counts as heard, and is kept with its text', async () => {
    await taken(sample('D-1', 1));
    const before = await rowOf('D-1');
    expect(before.refused).toBeUndefined();
    await taken([{ monitor: 'D-1', boot: 'b1', seq: 'two' }]);
    await taken(sample('D-1', 1, { readings: { co: { value: 5, unit: 'ppm' } } }));
    const after = await rowOf('D-1');
    expect(after.refused).toMatchObject({ code: 'conflict', count: 2 });
    expect(Date.parse(after.lastHeardAt)).toBeGreaterThan(Date.parse(before.lastHeardAt));
    const kept = await send(post, 'GET', '/api/v1/monitors/D-1/packets', { headers: bearer(viewer) });
    const { refused, packets } = monitorPackets.parse(kept.body);
    expect(refused.map(({ code, path }) => [code, path])).toEqual([
      ['conflict', 'seq'],
      ['invalid', 'seq'],
    ]);
    expect(refused[1]?.raw).toContain('"two"');
    expect(packets).toHaveLength(1);
  });

  it('without a known monitor is counted apart', async () => {
    const before = (await boardNow()).refusedElsewhere;
    await taken(['x', { monitor: 'NEVER-HEARD', boot: 'b', seq: -1 }]);
    const after = await boardNow();
    expect(after.refusedElsewhere).toBe(before + 2);
    expect(after.monitors.map(({ id }) => id)).not.toContain('NEVER-HEARD');
  });
});

describe('GET /api/v1/board', () => {
  it('has the shape that is promised, values in one unit a channel', async () => {
    const raw = {
      o2: { value: 209000, unit: 'ppm' },
      voc: { value: 100, unit: 'ppb' },
      gamma: { value: 0.07, unit: 'uSv/h' },
      'x-9': { value: 3, unit: 'mg/m3' },
      co: { flag: 'over-range' },
    };
    await taken(
      sample('E-1', 1, {
        readings: raw,
        status: { battery: 81, intervalMs: 1000 },
        position: { lat: 44.0512, lon: -98.2114, accuracy: 6 },
      }),
    );
    const row = await rowOf('E-1');
    expect(row.readings.o2).toMatchObject({ value: 20.9, unit: '%vol', raw: raw.o2 });
    expect(row.readings.voc).toMatchObject({ value: 0.1, unit: 'ppm', raw: raw.voc });
    expect(row.readings.gamma).toMatchObject({ value: 7, unit: 'uR/h', raw: raw.gamma });
    expect(row.readings['x-9']).toMatchObject({ value: 3, unit: 'mg/m3' });
    expect(row.readings.co).toMatchObject({ value: null, flag: 'over-range' });
    expect(row).toMatchObject({ link: 'live', status: { battery: 81 }, position: { lat: 44.0512, lon: -98.2114 } });
    const all = await boardNow();
    expect(all.recording).toEqual({ ok: true });
    expect(Math.abs(Date.parse(all.at) - Date.now())).toBeLessThan(5_000);
  });
});

describe('a record that went on in another file', () => {
  it('knows every packet of the files before it, also after a restart', async () => {
    const own = await runServer();
    const relay = await own.token('R1');
    const ask = async (body: unknown, of = own) =>
      packetsAnswer
        .parse((await postPackets(of, relay, body)).body)
        .results.map(({ status, error }) => error?.code ?? status);
    expect(await ask([sample('F-1', 1), sample('F-1', 2)])).toEqual(['stored', 'stored']);
    const commander = await own.staff('commander');
    const opened = await commander.send('POST', '/api/v1/commands', {
      id: 'open-1',
      type: 'incident-open',
      name: 'Ice plant',
    });
    expect(opened).toMatchObject({ status: 200, body: { status: 'done' } });
    const asked = [sample('F-1', 1), sample('F-1', 2, { readings: {} }), sample('F-1', 3)];
    expect(await ask(asked)).toEqual(['duplicate', 'conflict', 'stored']);
    expect(
      (await commander.send('POST', '/api/v1/commands', { id: 'close-1', type: 'incident-close' })).body,
    ).toMatchObject({ status: 'done' });
    expect(await ask(asked)).toEqual(['duplicate', 'conflict', 'duplicate']);
    expect(await own.stop()).toBe(0);
    const again = await runServer({ dataDir: own.dataDir });
    expect(await ask(asked, again)).toEqual(['duplicate', 'conflict', 'duplicate']);
    expect(await ask([sample('F-1', 3, { readings: {} }), sample('F-1', 4)], again)).toEqual(['conflict', 'stored']);
    await until('it serves', async () => (await send(again, 'GET', '/healthz')).status === 200);
  });
});
