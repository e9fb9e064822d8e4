/** The table in force, what another would do, and its adoption, as a program or the page asks for them. */
import { randomUUID } from 'node:crypto';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import type { SetPoint, SetPointTable } from '../../shared/alarm/set-point.ts';
import { board } from '../../shared/protocol/board.ts';
import { commandAnswer } from '../../shared/protocol/commands.ts';
import { setPointsView, tableCheck } from '../../shared/protocol/set-points.ts';
import { currentJournal, readJournal } from '../support/journal-files.ts';
import { type RunningPost, runServer, type Staff, send } from '../support/run-server.ts';
import { CLEAN, postPackets, sample } from '../support/sample-packets.ts';

let post: RunningPost;
let officer: Staff;
let viewer: Staff;
beforeAll(async () => {
  post = await runServer();
  officer = await post.staff('officer');
  viewer = await post.staff('viewer');
  const token = await post.token('R1');
  await postPackets(post, token, [
    sample('M-1', 1, { readings: { ...CLEAN, co: { value: 31, unit: 'ppm' }, lel: { value: 12, unit: '%LEL' } } }),
    sample('M-2', 1),
  ]);
});

function tableWith(changes: Readonly<Record<string, Partial<SetPoint> | null>>, version = 2): SetPointTable {
  const setPoints = DEFAULT_TABLE.setPoints.flatMap((point) => {
    const change = changes[point.id];
    return change === null ? [] : [{ ...point, ...change }];
  });
  return { ...DEFAULT_TABLE, name: 'County', version, setPoints };
}
const look = async (who: Staff) => setPointsView.parse((await who.send('GET', '/api/v1/set-points')).body);
const check = async (body: unknown) => {
  const answer = await officer.send('POST', '/api/v1/set-points/check', body);
  expect(answer.status).toBe(200);
  return tableCheck.parse(answer.body);
};
const adopt = async (who: Staff, table: SetPointTable) =>
  who.send('POST', '/api/v1/commands', { id: randomUUID(), type: 'set-points-adopt', table });
const boardNow = async () => board.parse((await viewer.send('GET', '/api/v1/board')).body);

describe('the table in force', () => {
  it('is given to whoever may look, as starting points that nobody has reviewed', async () => {
    expect(await look(viewer)).toEqual({ table: DEFAULT_TABLE, problems: [] });
    const reader = await post.viewerToken();
    const answer = await send(post, 'GET', '/api/v1/set-points', { headers: { authorization: `Bearer ${reader}` } });
    expect(answer.status).toBe(200);
    expect((await send(post, 'GET', '/api/v1/set-points')).status).toBe(401);
  });
});

describe('a check', () => {
  it('says what would come, go on and end, and records nothing', async () => {
    const before = readJournal(currentJournal(post.dataDir)).filter(({ kind }) => kind !== 'event').length;
    const found = await check(tableWith({ 'co-35': { value: 30 }, 'lel-10': { value: 15 } }));
    expect(found.problems).toEqual([]);
    expect(found.preview?.ending).toEqual([
      { alarm: expect.any(String), monitor: 'M-1', words: expect.stringContaining('12 %LEL') },
    ]);
    expect(found.preview?.alarms).toEqual([
      expect.objectContaining({ monitor: 'M-1', channel: 'co', setPoint: 'co-35', priority: 'caution', stands: false }),
    ]);
    const same = await check(tableWith({}));
    expect(same.preview).toMatchObject({ ending: [], alarms: [{ setPoint: 'lel-10', stands: true }] });
    expect((await look(viewer)).table).toEqual(DEFAULT_TABLE);
    expect((await boardNow()).alarms.map((alarm) => alarm.setPoint?.id)).toEqual(['lel-10']);
    expect(readJournal(currentJournal(post.dataDir)).filter(({ kind }) => kind !== 'event')).toHaveLength(before);
  });

  it('names each problem with its place, and gives no preview of what cannot be adopted', async () => {
    const index = DEFAULT_TABLE.setPoints.findIndex((point) => point.id === 'lel-10');
    const found = await check(tableWith({ 'lel-10': { value: 30 }, 'co-idlh': null }));
    expect(found.preview).toBeNull();
    const places = found.problems.map(({ path, code, severity }) => [path, code, severity]);
    expect(places).toContainEqual([`setPoints.${index}.value`, 'caution-above-danger', 'error']);
    expect(places).toContainEqual(['setPoints', 'protected-weakened', 'error']);
  });

  it('of what is no table says so, field by field', async () => {
    for (const body of [null, 7, [], {}, { name: 'x', version: 1.5, reviewedBy: null, setPoints: [{}] }]) {
      const found = await check(body);
      expect([body, found.preview]).toEqual([body, null]);
      expect(found.problems.length).toBeGreaterThan(0);
      expect(new Set(found.problems.map(({ code }) => code))).toEqual(new Set(['not-a-table']));
    }
    const many = Array.from({ length: 501 }, (_, i) => ({ ...DEFAULT_TABLE.setPoints[0], id: `p-${i}` }));
    expect((await check({ ...DEFAULT_TABLE, setPoints: many })).problems).toMatchObject([{ code: 'too-many' }]);
    const huge = await officer.send('POST', '/api/v1/set-points/check', { name: 'x'.repeat(1024 * 1024) });
    expect(huge.status).toBe(413);
    expect((await officer.send('POST', '/api/v1/set-points/check', '{')).status).toBe(400);
  });

  it('is for who may adopt, and only from a page of the post', async () => {
    const entry = await post.staff('entry');
    for (const who of [viewer, entry]) {
      expect((await who.send('POST', '/api/v1/set-points/check', DEFAULT_TABLE)).status).toBe(403);
      expect((await adopt(who, tableWith({}))).status).toBe(403);
    }
    const elsewhere = { headers: { ...officer.headers, origin: 'http://evil.example' }, body: DEFAULT_TABLE };
    expect((await send(post, 'POST', '/api/v1/set-points/check', elsewhere)).status).toBe(403);
    expect((await send(post, 'POST', '/api/v1/set-points/check', { body: DEFAULT_TABLE })).status).not.toBe(200);
  });
});

describe('adopting', () => {
  it('is refused for a table with an error, and nothing changes', async () => {
    const answer = commandAnswer.parse((await adopt(officer, tableWith({ 'lel-25': { protected: false } }))).body);
    expect(answer).toMatchObject({ status: 'refused', code: 'table-invalid' });
    expect((await look(viewer)).table.reviewedBy).toBeNull();
  });

  it('puts it in force under the officer’s name, whoever the file says has reviewed it, and does what the preview said', async () => {
    const table = { ...tableWith({ 'co-35': { value: 30 }, 'lel-10': { value: 15 } }), reviewedBy: 'somebody' };
    expect(commandAnswer.parse((await adopt(officer, table)).body).status).toBe('done');
    const { table: now, problems } = await look(viewer);
    expect(problems).toEqual([]);
    expect(now).toEqual({ ...table, reviewedBy: officer.name });
    const { alarms, setPoints } = await boardNow();
    expect(setPoints).toEqual({ name: 'County', version: 2, reviewed: true });
    expect(alarms.map((alarm) => [alarm.setPoint?.id, alarm.state]).sort()).toEqual([
      ['co-35', 'unacknowledged'],
      ['lel-10', 'returned-unacknowledged'],
    ]);
  });
});

describe('the JSON Schema of a table', () => {
  it('takes the starting points and what the server gives, and refuses an unknown unit', async () => {
    const { body } = await send(post, 'GET', '/api/v1/openapi.json');
    const doc = z.object({ components: z.object({ schemas: z.record(z.string(), z.looseObject({})) }) }).parse(body);
    const ajv = new Ajv2020({ strict: false, validateFormats: false });
    const schema = (name: string) => ajv.compile(doc.components.schemas[name] ?? false);
    const table = schema('SetPointTable');
    expect(table(DEFAULT_TABLE)).toBe(true);
    expect(table(tableWith({ 'co-35': { unit: 'bar' as never } }))).toBe(false);
    expect(schema('SetPoints')((await officer.send('GET', '/api/v1/set-points')).body)).toBe(true);
    expect(schema('SetPointsCheck')(await check(tableWith({})))).toBe(true);
  });
});
