/** What happened to the alarms of a record, as a program asks for it: in words, newest first, page by page. */
import { randomUUID } from 'node:crypto';
import { expect, test } from 'vitest';
import { alarmHistory } from '../../shared/protocol/alarm-history.ts';
import { type AlarmView, board } from '../../shared/protocol/board.ts';
import { commandAnswer } from '../../shared/protocol/commands.ts';
import { type RunningPost, runServer, send, until } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';

type Query = Record<string, string | number>;

async function start(dataDir?: string) {
  const post = await runServer(dataDir === undefined ? {} : { dataDir });
  const token = await post.token(`R-${randomUUID()}`);
  const officer = await post.staff('officer');
  const get = (path: string) => officer.send('GET', path);
  return {
    post,
    token,
    officer,
    async history(query: Query = {}) {
      const text = new URLSearchParams(Object.entries(query).map(([key, value]) => [key, String(value)]));
      const answer = await get(`/api/v1/alarms/history?${text}`);
      expect(answer.status).toBe(200);
      return alarmHistory.parse(answer.body);
    },
    async alarms(): Promise<AlarmView[]> {
      return board.parse((await get('/api/v1/board')).body).alarms;
    },
    async cursor(): Promise<number> {
      return board.parse((await get('/api/v1/board')).body).cursor;
    },
    async command(body: Record<string, unknown>) {
      const answer = await officer.send('POST', '/api/v1/commands', { id: randomUUID(), ...body });
      expect(answer.status).toBe(200);
      return commandAnswer.parse(answer.body);
    },
  };
}

const co = (value: number) => ({ readings: { co: { value, unit: 'ppm' } } });
const give = (post: RunningPost, token: string, seq: number, over: Record<string, unknown>) =>
  postPackets(post, token, sample('M-1', seq, over));

/** In one, the first danger alarm opens no incident of its own meanwhile, which would be another record. */
async function openExercise(post: RunningPost): Promise<void> {
  const commander = await post.staff('commander');
  const open = { id: 'x', type: 'incident-open', name: 'Cold store', exercise: true };
  expect((await commander.send('POST', '/api/v1/commands', open)).status).toBe(200);
}

test('tells who did what and why, newest first, and the same after the post was started again', async () => {
  const { post, token, history, alarms, cursor, command } = await start();
  await openExercise(post);
  await give(post, token, 1, co(40)); // caution: NIOSH REL 35 ppm
  const alarm = await until('an alarm', async () => (await alarms())[0] ?? null);
  expect(await command({ type: 'shelve', alarm: alarm.id, minutes: 1, reason: 'known source' })).toMatchObject({
    status: 'done',
  });
  expect(await command({ type: 'unshelve', alarm: alarm.id })).toMatchObject({ status: 'done' });
  const { occurrence } = (await alarms())[0] ?? alarm;
  const seen = { alarm: alarm.id, occurrence, seenCursor: await cursor() };
  expect(await command({ type: 'acknowledge', ...seen, decision: 'Go on' })).toMatchObject({ status: 'done' });
  // Combustible danger is protected, and a refusal is no event.
  await give(post, token, 2, { readings: { lel: { value: 30, unit: '%LEL' } } });
  const guarded = await until(
    'a protected alarm',
    async () => (await alarms()).find((one) => one.sensor === 'lel' && one.priority === 'danger') ?? null,
  );
  expect(await command({ type: 'shelve', alarm: guarded.id, minutes: 5, reason: 'no' })).toMatchObject({
    status: 'refused',
    code: 'protected',
  });

  const told = (await history({ alarm: alarm.id })).events;
  expect(told.map(({ says }) => says)).toEqual([
    'acknowledged by officer-1: “Go on”',
    'taken off the shelf by officer-1, waits for an answer',
    'shelved by officer-1: “known source”',
    'raised',
  ]);
  expect(told.map(({ words }) => words)).toEqual(Array(4).fill('carbon monoxide 40 ppm'));
  expect(told[0]).toMatchObject({ by: 'officer-1', decision: 'Go on', monitor: 'M-1', priority: 'caution' });
  const times = told.map(({ at }) => Date.parse(at));
  expect(times).toEqual([...times].sort((a, b) => b - a));
  expect(Math.abs(Date.now() - (times[0] ?? 0))).toBeLessThan(60_000);

  const before = await history();
  expect(before).toMatchObject({ next: null, cut: false });
  expect(await post.stop()).toBe(0);
  const again = await start(post.dataDir);
  const after = await again.history();
  const core = (events: typeof after.events) =>
    events.map(({ number, at, says, alarm }) => ({ number, at, says, alarm }));
  const known = new Set(before.events.map(({ number }) => number));
  expect(core(after.events.filter(({ number }) => known.has(number)))).toEqual(core(before.events));
  expect(after.epoch).not.toBe(before.epoch);
});

test('comes in pages without a hole, and can be asked for one alarm alone', async () => {
  const { post, token, history } = await start();
  await openExercise(post);
  const packets = Array.from({ length: 12 }, (_, i) => sample(`P-${i}`, 1, { ...co(40), status: { help: true } }));
  await postPackets(post, token, packets);
  const all = await until('all are told', async () => {
    const found = await history({ limit: 500 });
    return found.events.length >= 24 ? found : null;
  });
  const paged: number[] = [];
  let before: number | null = null;
  do {
    const page = await history({ limit: 5, ...(before === null ? {} : { before }) });
    expect(page.events.length).toBeLessThanOrEqual(5);
    paged.push(...page.events.map(({ number }) => number));
    before = page.next;
  } while (before !== null);
  expect(paged.slice(-all.events.length)).toEqual(all.events.map(({ number }) => number));
  const one = all.events.at(-1)?.alarm ?? '';
  const alone = await history({ alarm: one });
  expect(new Set(alone.events.map(({ alarm }) => alarm))).toEqual(new Set([one]));
  expect((await history({ alarm: 'no~such~alarm~1' })).events).toEqual([]);
});

test('refuses what is no query, and whoever may not look', async () => {
  const { post, token, officer } = await start();
  for (const query of ['limit=0', 'limit=501', 'limit=x', 'before=0', 'before=1.5', 'alarm=']) {
    expect([query, (await officer.send('GET', `/api/v1/alarms/history?${query}`)).status]).toEqual([query, 400]);
  }
  expect((await send(post, 'GET', '/api/v1/alarms/history')).status).toBe(401);
  const relay = { headers: { authorization: `Bearer ${token}` } };
  expect((await send(post, 'GET', '/api/v1/alarms/history', relay)).status).toBe(403);
  const viewer = { headers: { authorization: `Bearer ${await post.viewerToken()}` } };
  expect((await send(post, 'GET', '/api/v1/alarms/history', viewer)).status).toBe(200);
});
