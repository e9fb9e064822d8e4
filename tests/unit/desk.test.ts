/** The desk's decisions apart from the page: what is sent under which id, what is said of it, who has what. */
import { describe, expect, it } from 'vitest';
import type { CommandAnswer, CommandRequest } from '../../shared/protocol/commands.ts';
import {
  handOverTakes,
  handRows,
  inTeamOrder,
  type Person,
  pastControlLine,
  personWords,
} from '../../web/desk/hand-rows.ts';
import { outcomeWords } from '../../web/desk/outcome-words.ts';
import { type CommandBody, createSender } from '../../web/desk/sender.ts';
import { CODE_LASTS_MS, goodUntil, leftWords, spacedCode } from '../../web/desk/wall-screens.ts';
import { readRoute } from '../../web/shell/routes.ts';

const NOTE: CommandBody = { type: 'note', text: 'wind has turned' };
const DONE: CommandAnswer = { status: 'done', cursor: 7 };
const NO_ANSWER: CommandAnswer = { status: 'refused', code: 'no-answer', message: 'The post did not answer.' };
const FULL: CommandAnswer = {
  status: 'refused',
  code: 'full',
  message: 'The disk is full: nothing is being recorded',
};

/** A post that gives these answers in turn, and what it was sent. */
function post(...answers: CommandAnswer[]) {
  const sent: CommandRequest[] = [];
  let made = 0;
  const sender = createSender(
    (command) => {
      sent.push(command);
      return Promise.resolve(answers[sent.length - 1] ?? DONE);
    },
    () => {
      made += 1;
      return `id-${made}`;
    },
  );
  return { sender, ids: () => sent.map((command) => command.id) };
}

describe('what is sent', () => {
  it('has a new id each time, also with the same content', async () => {
    const { sender, ids } = post();
    await sender.send(NOTE);
    await sender.send(NOTE);
    expect(ids()).toEqual(['id-1', 'id-2']);
  });

  it.each([NO_ANSWER, FULL, { status: 'refused', code: 'not-understood' } as const])(
    'goes again under its own id where nothing is known to be done ($code)',
    async (answer) => {
      const { sender, ids } = post(answer);
      await sender.send(NOTE);
      await sender.send(NOTE);
      await sender.send(NOTE);
      expect(ids()).toEqual(['id-1', 'id-1', 'id-2']);
    },
  );

  it('is another act where the content is another, and after a refusal with a reason', async () => {
    const changed = post(NO_ANSWER);
    await changed.sender.send(NOTE);
    await changed.sender.send({ ...NOTE, text: 'wind has turned north' });
    expect(changed.ids()).toEqual(['id-1', 'id-2']);
    const refused = post({ status: 'refused', code: 'no-such-entrant', message: 'x' });
    await refused.sender.send(NOTE);
    await refused.sender.send(NOTE);
    expect(refused.ids()).toEqual(['id-1', 'id-2']);
  });

  it('waits for the one before: a second press sends nothing', async () => {
    const { sender, ids } = post();
    const first = sender.send(NOTE);
    expect(sender.send(NOTE)).toBeNull();
    await first;
    expect(ids()).toEqual(['id-1']);
    expect(sender.send(NOTE)).not.toBeNull();
  });

  it('can be sent again when the asking itself threw', async () => {
    const sender = createSender(
      () => Promise.reject(new Error('broken')),
      () => 'x',
    );
    await expect(sender.send(NOTE)).rejects.toThrow('broken');
    expect(sender.send(NOTE)?.catch(() => undefined)).not.toBeNull();
  });
});

describe('what is said', () => {
  const said = (answer: CommandAnswer) => outcomeWords(answer, 'M-07 is handed to E1-A.', 'America/Chicago');
  it('tells done, already, changed and refused apart', () => {
    expect(said(DONE)).toEqual({ level: 'plain', words: 'Done and recorded: M-07 is handed to E1-A.' });
    expect(said({ status: 'already', by: 'Okafor', at: '2026-05-14T19:07:33Z' }).words).toBe(
      'It was done already by Okafor, 14:07:33.',
    );
    expect(said({ status: 'changed' })).toEqual({
      level: 'caution',
      words: 'It changed since you saw it: look again. Nothing was done.',
    });
    expect(said({ status: 'refused', code: 'incident-open', message: 'Lot 9 is open: close it first' }).words).toBe(
      'Not done: Lot 9 is open: close it first.',
    );
  });

  it('never says done where it is not known, or not recorded', () => {
    expect(said(NO_ANSWER).words).toMatch(/not known to be done/);
    expect(said(FULL)).toMatchObject({
      level: 'danger',
      words: expect.stringMatching(/^Not recorded and not done\. The disk is full/),
    });
    expect(said({ status: 'refused' }).words).toBe('Not done: refused.');
  });
});

describe('who has what', () => {
  const people: Person[] = [
    { name: 'Gate', monitor: 'M-10', role: 'perimeter', zone: 'cold' },
    { name: 'E1-B', team: 'Entry 1', role: 'entry', zone: 'hot' },
    { name: 'E1-A', team: 'Entry 1', role: 'entry', monitor: 'M-2', zone: 'hot' },
    { name: 'B1-A', team: 'Backup 1', role: 'backup', monitor: 'M-77', zone: 'warm' },
  ];

  it('lists every monitor once, by id, also one that was handed out before it was heard', () => {
    const rows = handRows(['M-10', 'M-2', 'M-3'], people);
    expect(rows.map((row) => [row.id, row.heard, row.holder?.name ?? null])).toEqual([
      ['M-2', true, 'E1-A'],
      ['M-3', true, null],
      ['M-10', true, 'Gate'],
      ['M-77', false, 'B1-A'],
    ]);
  });

  it('orders people as the board does: entry, backup, decontamination, perimeter, then who has no role', () => {
    expect(inTeamOrder(people).map((person) => person.name)).toEqual(['E1-A', 'E1-B', 'B1-A', 'Gate']);
    expect(pastControlLine(people).map((person) => person.name)).toEqual(['E1-A', 'E1-B', 'B1-A']);
    expect(people.map(personWords)[2]).toBe('E1-A, Entry 1, entry');
  });

  it('says from whom a monitor would be taken', () => {
    expect(handOverTakes(people, 'M-3', 'E2-A')).toBe('');
    expect(handOverTakes(people, 'M-2', 'E1-A')).toBe('');
    expect(handOverTakes(people, 'M-2', 'E2-A')).toBe('E1-A (hot zone) will have no monitor.');
    expect(handOverTakes(people, 'M-3', 'E1-A')).toBe('E1-A has M-2 now: it counts as handed back.');
    expect(handOverTakes(people, 'M-2', 'Gate')).toMatch(/E1-A .* will have no monitor\. Gate has M-10 now/);
  });
});

describe('a pairing code', () => {
  it('runs down from five minutes to nothing and never below', () => {
    const until = goodUntil(1000);
    expect(leftWords(until, 1000)).toBe('5:00');
    expect(leftWords(until, 1000 + CODE_LASTS_MS - 59_001)).toBe('1:00');
    expect(leftWords(until, 1000 + CODE_LASTS_MS - 1)).toBe('0:01');
    expect(leftWords(until, 1000 + CODE_LASTS_MS + 9999)).toBe('0:00');
    expect(spacedCode('ABCD2345')).toBe('ABCD 2345');
  });
});

it('has its own path', () => {
  expect(readRoute('/desk', '')).toEqual({ page: 'desk' });
});
