import { randomUUID } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { type AlarmView, type Board, board } from '../../shared/protocol/board.ts';
import { commandAnswer } from '../../shared/protocol/commands.ts';
import { packetsAnswer } from '../../shared/protocol/packet.ts';
import { currentJournal, journalFiles, readJournal } from '../support/journal-files.ts';
import { openSocket, runServer, type Staff, send, until } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';

type Command = Record<string, unknown>;
const ask = (who: Staff, command: Command) => who.send('POST', '/api/v1/commands', { id: randomUUID(), ...command });
async function done(who: Staff, command: Command) {
  const answer = await ask(who, command);
  expect(answer.status).toBe(200);
  return commandAnswer.parse(answer.body);
}

async function startWith(name: string) {
  const post = await runServer();
  const [token, viewer] = await Promise.all([post.token('R1'), post.viewerToken(name)]);
  const boardNow = async (): Promise<Board> => {
    const answer = await send(post, 'GET', '/api/v1/board', { headers: { authorization: `Bearer ${viewer}` } });
    return board.parse(answer.body);
  };
  const give = async (body: unknown) => {
    const answer = await postPackets(post, token, body);
    expect(answer.status).toBe(200);
    return packetsAnswer.parse(answer.body).results;
  };
  const alarmOf = async (monitor: string, kind: string): Promise<AlarmView> =>
    until(
      `an alarm ${kind} of ${monitor}`,
      async () => (await boardNow()).alarms.find((alarm) => alarm.monitor === monitor && alarm.kind === kind) ?? null,
    );
  return { post, token, viewer, boardNow, give, alarmOf };
}

const gas = (h2s: number) => ({ readings: { h2s: { value: h2s, unit: 'ppm' } } });

describe('commands', () => {
  it('are done once for one id, also when two come at once, and are answered the same again', async () => {
    const { post, boardNow } = await startWith('v');
    const officer = await post.staff('officer');
    const note = { id: 'n-1', type: 'note', text: 'Wind turned' };
    const answers = await Promise.all(Array.from({ length: 5 }, () => officer.send('POST', '/api/v1/commands', note)));
    expect(new Set(answers.map(({ body }) => JSON.stringify(body))).size).toBe(1);
    expect(answers[0]).toMatchObject({ status: 200, body: { status: 'done', cursor: expect.any(Number) } });
    await ask(officer, { type: 'note', text: 'Another' });
    expect((await officer.send('POST', '/api/v1/commands', note)).body).toEqual(answers[0]?.body);
    const commands = readJournal(currentJournal(post.dataDir)).filter(({ kind }) => kind === 'command');
    expect(commands).toHaveLength(2);
    expect((await boardNow()).cursor).toBeGreaterThan(0);
    expect(await post.stop()).toBe(0);
    const again = await runServer({ dataDir: post.dataDir });
    const back = await again.staff('officer');
    expect((await back.send('POST', '/api/v1/commands', note)).body).toEqual(answers[0]?.body);
  });

  it('that are not understood are refused and nothing is recorded', async () => {
    const { post } = await startWith('v');
    const officer = await post.staff('officer');
    for (const body of [
      {},
      { id: 'x' },
      { id: 'x', type: 'dance' },
      { id: '', type: 'note', text: 'a' },
      { id: 'x', type: 'note', text: ' ' },
      { id: 'x', type: 'acknowledge', alarm: 'a', occurrence: 0 },
      [],
      'text',
      null,
    ]) {
      const answer = await officer.send('POST', '/api/v1/commands', body);
      expect([body, answer.status]).toEqual([body, 400]);
    }
    const other = await send(post, 'POST', '/api/v1/commands', {
      headers: { ...officer.headers, origin: 'https://elsewhere.example' },
      body: { id: 'x', type: 'note', text: 'a' },
    });
    expect(other.status).toBe(403);
    expect(readJournal(currentJournal(post.dataDir)).some(({ kind }) => kind === 'command')).toBe(false);
  });

  it('acknowledge what the screen had drawn: done, changed, already, refused', async () => {
    const { post, give, alarmOf, boardNow } = await startWith('v');
    const officer = await post.staff('officer');
    await give(sample('K-1', 1, gas(12)));
    const alarm = await alarmOf('K-1', 'level');
    expect(alarm).toMatchObject({ priority: 'caution', state: 'unacknowledged' });
    const before = await boardNow();
    const act = { type: 'acknowledge', alarm: alarm.id, occurrence: alarm.occurrence };
    // It ends and comes again before the answer arrives.
    let seq = 1;
    await until(
      'it returned, with the off-delay',
      async () => {
        seq += 1;
        await give(sample('K-1', seq, gas(0)));
        return (await alarmOf('K-1', 'level')).state === 'returned-unacknowledged';
      },
      12_000,
    );
    await give(sample('K-1', seq + 1, gas(13)));
    await until('it came again', async () => (await alarmOf('K-1', 'level')).state === 'unacknowledged');
    expect(await done(officer, { ...act, seenCursor: before.cursor })).toMatchObject({ status: 'changed' });
    const now = await boardNow();
    const drawn = now.alarms.find(({ id }) => id === alarm.id);
    const good = { ...act, occurrence: drawn?.occurrence, seenCursor: now.cursor, decision: 'Go on with care' };
    const both = await Promise.all([done(officer, good), done(officer, good)]);
    expect(both.map(({ status }) => status).sort()).toEqual(['already', 'done']);
    expect(both.find(({ status }) => status === 'already')).toMatchObject({ by: 'officer-1', at: expect.any(String) });
    expect(await alarmOf('K-1', 'level')).toMatchObject({
      state: 'acknowledged',
      acknowledgedBy: 'officer-1',
      decision: 'Go on with care',
    });
    expect(await done(officer, { ...act, alarm: 'no~such~alarm~1', seenCursor: now.cursor })).toMatchObject({
      status: 'refused',
      code: 'no-such-alarm',
    });
  });

  it('reset a latched alarm only after its end and its answer', async () => {
    const { post, give, alarmOf, boardNow } = await startWith('v');
    const officer = await post.staff('officer');
    await give(sample('K-2', 1, { status: { help: true } }));
    const alarm = await alarmOf('K-2', 'help');
    const reset = { type: 'reset', alarm: alarm.id };
    expect(await done(officer, reset)).toMatchObject({ status: 'refused', code: 'condition-holds' });
    await give(sample('K-2', 2, { status: { help: false } }));
    await until('it is latched', async () => (await alarmOf('K-2', 'help')).state === 'latched-unacknowledged');
    expect(await done(officer, reset)).toMatchObject({ status: 'refused', code: 'not-acknowledged' });
    const { occurrence } = await alarmOf('K-2', 'help');
    expect(
      await done(officer, { type: 'acknowledge', alarm: alarm.id, occurrence, seenCursor: (await boardNow()).cursor }),
    ).toMatchObject({ status: 'done' });
    expect(await done(officer, reset)).toMatchObject({ status: 'done' });
    expect((await boardNow()).alarms).toEqual([]);
    expect(await done(officer, reset)).toMatchObject({ status: 'refused', code: 'no-such-alarm' });
  });

  it('hand a monitor over, move an entrant, and refuse one that nobody knows', async () => {
    const { post, give, boardNow } = await startWith('v');
    const entry = await post.staff('entry');
    await give([sample('K-3', 1), sample('K-4', 1)]);
    expect(
      await done(entry, { type: 'assign', monitor: 'K-3', entrant: 'E1-A', team: 'Entry 1', role: 'entry' }),
    ).toMatchObject({ status: 'done' });
    expect(await done(entry, { type: 'entry', entrant: 'E1-A', zone: 'hot' })).toMatchObject({ status: 'done' });
    expect(await done(entry, { type: 'entry', entrant: 'E9-Z', zone: 'hot' })).toMatchObject({
      status: 'refused',
      code: 'no-such-entrant',
    });
    let now = await boardNow();
    expect(now.monitors.find(({ id }) => id === 'K-3')).toMatchObject({
      entrant: 'E1-A',
      team: 'Entry 1',
      role: 'entry',
      zone: 'hot',
    });
    expect(now.people).toEqual([{ name: 'E1-A', team: 'Entry 1', role: 'entry', monitor: 'K-3', zone: 'hot' }]);
    expect(now.teams).toEqual([{ name: 'Entry 1', members: ['E1-A'] }]);
    await done(entry, { type: 'assign', monitor: 'K-4', entrant: 'E1-A' });
    now = await boardNow();
    expect(now.monitors.map(({ id, entrant }) => [id, entrant])).toEqual([
      ['K-3', undefined],
      ['K-4', 'E1-A'],
    ]);
    await done(entry, { type: 'assign', monitor: 'K-4', entrant: null });
    expect((await boardNow()).monitors.every(({ entrant }) => entrant === undefined)).toBe(true);
  });

  it('are for those whose role may, one by one', async () => {
    const { post } = await startWith('v');
    const commands: [Command, string[]][] = [
      [{ type: 'note', text: 'x' }, ['entry', 'officer', 'commander']],
      [{ type: 'assign', monitor: 'K-9', entrant: 'E1-A' }, ['entry', 'officer', 'commander']],
      [{ type: 'entry', entrant: 'E1-A', zone: 'warm' }, ['entry', 'officer', 'commander']],
      [{ type: 'acknowledge', alarm: 'a', occurrence: 1 }, ['officer', 'commander']],
      [{ type: 'reset', alarm: 'a' }, ['officer', 'commander']],
      [{ type: 'incident-open', name: 'x' }, ['commander']],
      [{ type: 'incident-close' }, ['commander']],
    ];
    for (const [command, may] of commands) {
      const allowed: string[] = [];
      for (const role of ['viewer', 'entry', 'officer', 'commander'] as const) {
        const { status } = await ask(await post.staff(role), command);
        if (status === 200) allowed.push(role);
        else expect([command['type'], role, status]).toEqual([command['type'], role, 403]);
      }
      expect([command['type'], allowed]).toEqual([command['type'], may]);
    }
  });
});

describe('incidents', () => {
  const incidents = z.object({
    incidents: z.array(
      z.object({
        id: z.string(),
        name: z.string(),
        purpose: z.string(),
        openedAt: z.string(),
        closedAt: z.string().nullable(),
      }),
    ),
  });

  it('open and close; the list says when; the board goes on in standby', async () => {
    const { post, boardNow, give } = await startWith('v');
    const commander = await post.staff('commander');
    const list = async () => incidents.parse((await commander.send('GET', '/api/v1/incidents')).body).incidents;
    expect(await list()).toEqual([]);
    expect(await done(commander, { type: 'incident-close' })).toMatchObject({ status: 'refused', code: 'none-open' });
    await give(sample('I-1', 1));
    const open = { id: 'same', type: 'incident-open', name: 'Ice plant', zone: 'America/Chicago' };
    const twice = await Promise.all([done(commander, open), done(commander, open)]);
    expect(twice[0]).toEqual(twice[1]);
    expect(twice[0]).toMatchObject({ status: 'done' });
    expect(await done(commander, { type: 'incident-open', name: 'Second' })).toMatchObject({
      status: 'refused',
      code: 'incident-open',
    });
    expect(await done(commander, { type: 'incident-open', name: 'Drill', exercise: true })).toMatchObject({
      status: 'refused',
    });
    let now = await boardNow();
    expect(now.incident).toMatchObject({
      name: 'Ice plant',
      purpose: 'incident',
      exercise: false,
      zone: 'America/Chicago',
    });
    expect(now.monitors.map(({ id }) => id)).toEqual(['I-1']);
    expect(await list()).toMatchObject([
      { name: 'Ice plant', purpose: 'incident', closedAt: null, id: now.incident?.id },
    ]);
    const closedFile = currentJournal(post.dataDir);
    expect(await done(commander, { type: 'incident-close', why: 'All out' })).toMatchObject({ status: 'done' });
    expect((await list())[0]?.closedAt).toMatch(/Z$/);
    now = await boardNow();
    expect(now.incident).toBeNull();
    expect(now.journal.purpose).toBe('standby');
    expect(now.monitors.map(({ id }) => id)).toEqual(['I-1']);
    const records = readJournal(closedFile);
    expect(
      records.slice(records.findIndex(({ kind }) => kind === 'closed') + 1).every(({ kind }) => kind === 'event'),
    ).toBe(true);
    const last = records.filter(({ kind }) => kind !== 'event').at(-1);
    expect(last).toMatchObject({ kind: 'closed', by: 'commander-1', why: 'All out' });
    // A repeat of the first, long answered command opens nothing again, after a restart either.
    expect((await commander.send('POST', '/api/v1/commands', open)).body).toEqual(twice[0]);
    await post.stop();
    const again = await runServer({ dataDir: post.dataDir });
    const back = await again.staff('commander');
    const repeated = await back.send('POST', '/api/v1/commands', open);
    expect(repeated.body).toEqual(twice[0]);
    expect(incidents.parse((await back.send('GET', '/api/v1/incidents')).body).incidents).toHaveLength(1);
  });

  it('open by themselves at the first danger, with the last hour in them, and nothing leaves the board', async () => {
    const { post, boardNow, give, viewer } = await startWith('v');
    const entry = await post.staff('entry');
    await give([sample('J-1', 1, gas(12)), sample('J-2', 1)]);
    await done(entry, { type: 'assign', monitor: 'J-2', entrant: 'E1-B', team: 'Entry 1' });
    const caution = (await boardNow()).alarms.find(({ monitor }) => monitor === 'J-1');
    expect(caution).toMatchObject({ priority: 'caution' });
    const screen = await openSocket(post, '/api/v1/live', { authorization: `Bearer ${viewer}` });
    await give(sample('J-2', 2, gas(120)));
    const now = await until('the incident', async () => {
      const seen = await boardNow();
      const alarms = seen.alarms.map(({ monitor, priority }) => `${monitor} ${priority}`);
      expect(alarms).toContain('J-1 caution');
      expect(alarms).toContain('J-2 danger');
      return seen.incident === null ? null : seen;
    });
    expect(now.incident).toMatchObject({ purpose: 'incident', name: expect.stringMatching(/^Incident of /) });
    expect(now.alarms.find(({ monitor }) => monitor === 'J-1')).toMatchObject({
      id: caution?.id,
      raisedAt: caution?.raisedAt,
    });
    expect(now.monitors.find(({ id }) => id === 'J-2')).toMatchObject({ entrant: 'E1-B', team: 'Entry 1' });
    const records = readJournal(currentJournal(post.dataDir));
    expect(records[0]).toMatchObject({ kind: 'opened', by: 'post', why: expect.stringContaining('E1-B') });
    expect(
      records.flatMap((record) => (record.kind === 'packet' ? [`${record.packet.monitor} ${record.packet.seq}`] : [])),
    ).toEqual(['J-1 1', 'J-2 1', 'J-2 2']);
    const snapshots = await until('a snapshot of the new record', () => {
      const found = screen.frames.filter((frame) => z.object({ type: z.literal('snapshot') }).safeParse(frame).success);
      return found.length === 2 ? found : null;
    });
    expect(new Set(snapshots.map((frame) => z.object({ epoch: z.string() }).parse(frame).epoch)).size).toBe(2);
    // One incident alone, however many dangers follow.
    await give([sample('J-1', 2, gas(200)), sample('J-2', 3, gas(5)), sample('J-2', 4, gas(150))]);
    expect(journalFiles(post.dataDir)).toHaveLength(2);
    screen.socket.close();
  });

  it('do not open for a simulated monitor', async () => {
    const { boardNow, give, alarmOf } = await startWith('v');
    await give(sample('M-1', 1, { ...gas(120), simulated: true }));
    expect(await alarmOf('M-1', 'level')).toMatchObject({ priority: 'danger' });
    await give(sample('M-1', 2, { ...gas(130), simulated: true }));
    expect((await boardNow()).incident).toBeNull();
  });

  it('that are real end an exercise, take over what is real, and refuse what is simulated', async () => {
    const { post, boardNow, give } = await startWith('v');
    const commander = await post.staff('commander');
    expect(await done(commander, { type: 'incident-open', name: 'Drill', exercise: true })).toMatchObject({
      status: 'done',
    });
    expect((await boardNow()).incident).toMatchObject({ exercise: true, purpose: 'exercise' });
    await give([sample('X-1', 1, { ...gas(60), simulated: true }), sample('X-2', 1, gas(60))]);
    await done(commander, { type: 'assign', monitor: 'X-1', entrant: 'E2-A' });
    await done(commander, { type: 'assign', monitor: 'X-2', entrant: 'E2-B' });
    expect((await boardNow()).alarms).not.toEqual([]);
    expect(await done(commander, { type: 'incident-open', name: 'Real' })).toMatchObject({ status: 'done' });
    const now = await boardNow();
    expect(now.incident).toMatchObject({ name: 'Real', exercise: false });
    expect(now.monitors.map(({ id, entrant }) => [id, entrant])).toEqual([['X-2', 'E2-B']]);
    expect(new Set(now.alarms.map(({ monitor }) => monitor))).toEqual(new Set(['X-2']));
    const refused = await give([
      sample('X-1', 2, { ...gas(0), simulated: true }),
      sample('X-2', 2, { ...gas(0), simulated: true }),
    ]);
    expect(refused).toMatchObject(
      Array(2).fill({ status: 'rejected', error: { code: 'simulated', path: 'simulated' } }),
    );
    // The simulator cannot speak for a real monitor: it neither ends its alarm nor lets it look heard.
    const row = (await boardNow()).monitors.find(({ id }) => id === 'X-2');
    expect(row?.lastHeardAt).toBe(now.monitors[0]?.lastHeardAt);
    expect((await boardNow()).monitors.map(({ id }) => id)).toEqual(['X-2']);
    const list = z.object({ incidents: z.array(z.object({ name: z.string(), closedAt: z.string().nullable() })) });
    expect(list.parse((await commander.send('GET', '/api/v1/incidents')).body).incidents).toMatchObject([
      { name: 'Real', closedAt: null },
      { name: 'Drill', closedAt: expect.any(String) },
    ]);
  });

  it('are opened under load without losing or repeating a packet', async () => {
    const { post, token, give } = await startWith('v');
    const commander = await post.staff('commander');
    await give(sample('N-0', 0));
    let loading = true;
    const stored: string[] = [];
    const writers = Array.from({ length: 4 }, async (_, w) => {
      for (let seq = 0; loading; seq += 1) {
        const answer = await postPackets(post, token, [
          sample(`N-${w}`, seq, { boot: 'load' }),
          sample(`N-${w}b`, seq, { boot: 'load' }),
        ]);
        expect(answer.status).toBe(200);
        for (const [i, result] of packetsAnswer.parse(answer.body).results.entries()) {
          expect(result.status).toBe('stored');
          stored.push(`N-${w}${i === 0 ? '' : 'b'} ${seq}`);
        }
      }
    });
    for (let i = 0; i < 3; i += 1) {
      expect(await done(commander, { type: 'incident-open', name: `Load ${i}`, exercise: i === 1 })).toMatchObject({
        status: 'done',
      });
      expect(await done(commander, { type: 'incident-close' })).toMatchObject({ status: 'done' });
    }
    loading = false;
    await Promise.all(writers);
    const files = journalFiles(post.dataDir);
    expect(files).toHaveLength(7);
    const held = files.map((file) => {
      const numbers = readJournal(file).flatMap((r) =>
        r.kind === 'packet' && r.packet.boot === 'load' ? [`${r.packet.monitor} ${r.packet.seq}`] : [],
      );
      expect(new Set(numbers).size).toBe(numbers.length);
      return numbers;
    });
    expect([...new Set(held.flat())].sort()).toEqual(stored.sort());
  });
});
