import { randomUUID } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import { type Board, board } from '../../shared/protocol/board.ts';
import { commandAnswer } from '../../shared/protocol/commands.ts';
import { runServer, type Staff, send, until } from '../support/run-server.ts';
import { postPackets } from '../support/sample-packets.ts';

type Command = Record<string, unknown>;
const ask = (who: Staff, command: Command) => who.send('POST', '/api/v1/commands', { id: randomUUID(), ...command });
async function answerOf(who: Staff, command: Command) {
  const answer = await ask(who, command);
  expect(answer.status).toBe(200);
  return commandAnswer.parse(answer.body);
}

describe('what an officer does to alarms', () => {
  it('is on the board, survives a restart, and is for officers alone', async () => {
    const post = await runServer();
    const [token, viewer] = await Promise.all([post.token('R1'), post.viewerToken('v')]);
    const boardNow = async (from = post): Promise<Board> =>
      board.parse((await send(from, 'GET', '/api/v1/board', { headers: { authorization: `Bearer ${viewer}` } })).body);
    const readings = {
      co: { value: 40, unit: 'ppm' },
      gamma: { value: 24, unit: 'uR/h' },
      voc: { value: 100, unit: 'ppb' },
    };
    await postPackets(post, token, { monitor: 'K-1', boot: 'b', seq: 1, readings });
    const [officer, entry] = [await post.staff('officer'), await post.staff('entry')];
    const alarm = await until('the alarm', async () => {
      const { alarms } = await boardNow();
      return alarms.find((one) => one.setPoint?.id === 'co-35') ?? null;
    });
    const shelve = { type: 'shelve', alarm: alarm.id, minutes: 30, reason: 'engine runs at the gate' };
    const background = { type: 'background', scope: 'K-1', channels: { gamma: { value: 12, unit: 'uR/h' } } };
    const service = { type: 'out-of-service', monitor: 'K-1', sensor: 'co', out: true, reason: 'sensor change' };
    const adopt = { type: 'set-points-adopt', table: { ...DEFAULT_TABLE, name: 'County', version: 2 } };
    for (const command of [shelve, { type: 'unshelve', alarm: alarm.id }, background, service, adopt]) {
      expect([command.type, (await ask(entry, command)).status]).toEqual([command.type, 403]);
    }
    for (const bad of [
      { ...shelve, minutes: 61 },
      { ...shelve, reason: ' ' },
      { ...background, channels: { gamma: { value: 12 } } },
      { ...adopt, table: { name: 'x' } },
    ]) {
      expect([bad.type, (await ask(officer, bad)).status]).toEqual([bad.type, 400]);
    }
    expect(await answerOf(officer, shelve)).toMatchObject({ status: 'done' });
    expect(await answerOf(officer, background)).toMatchObject({ status: 'refused', code: 'off-normal' });
    const overridden = { ...background, override: 'two monitors agree' };
    expect(await answerOf(officer, overridden)).toMatchObject({ status: 'changed', code: 'would-silence' });
    expect(await answerOf(officer, { ...overridden, confirm: true })).toMatchObject({ status: 'done' });
    expect(await answerOf(officer, adopt)).toMatchObject({ status: 'done' });
    const weak = DEFAULT_TABLE.setPoints.filter((point) => point.id !== 'lel-25');
    const refused = { ...adopt, table: { ...DEFAULT_TABLE, setPoints: weak } };
    expect(await answerOf(officer, refused)).toMatchObject({ status: 'refused', code: 'table-invalid' });
    const check = (now: Board) => {
      expect(now.setPoints).toEqual({ name: 'County', version: 2, reviewed: true });
      expect(now.alarms.find((one) => one.id === alarm.id)).toMatchObject({
        state: 'shelved',
        shelved: { reason: 'engine runs at the gate' },
      });
      expect(now.monitors[0]?.readings.gamma?.background).toMatchObject({ value: 12, assumed: false });
      expect(now.backgrounds).toMatchObject([{ monitor: 'K-1', channel: 'gamma', value: 12, unit: 'uR/h' }]);
      expect(now.figures).toMatchObject({ flood: false });
    };
    check(await boardNow());
    expect(await post.stop()).toBe(0);
    const again = await runServer({ dataDir: post.dataDir });
    check(await boardNow(again));
    const back = await again.staff('officer');
    expect(await answerOf(back, service)).toMatchObject({ status: 'done' });
    const now = await boardNow(again);
    expect(now.outOfService).toMatchObject([{ monitor: 'K-1', sensor: 'co', reason: 'sensor change' }]);
    expect(now.alarms.find((one) => one.id === alarm.id)?.state).toBe('out-of-service');
  });
});
