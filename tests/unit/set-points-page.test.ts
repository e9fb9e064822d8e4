/** The page of the set-points apart from the page: the draft as typed, its words, its file, and the background's words. */
import { describe, expect, it, test } from 'vitest';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import { type SetPoint, setPointTable } from '../../shared/alarm/set-point.ts';
import { tableToText } from '../../shared/alarm/table-text.ts';
import { backgroundChannels, backgroundInForce, nextOf, typedUnits } from '../../web/set-points/background-words.ts';
import {
  addPoint,
  changedFields,
  changePoint,
  type Draft,
  type DraftPoint,
  draftOf,
  isChanged,
  putBack,
  readDraft,
  removedFrom,
  removePoint,
  tableMark,
  typedNumber,
} from '../../web/set-points/draft.ts';
import { draftChanges } from '../../web/set-points/draft-changes.ts';
import {
  byChannel,
  deadbandWords,
  delayWords,
  groupedDigits,
  pathWords,
  problemWords,
} from '../../web/set-points/level-words.ts';
import { fileName, readImport } from '../../web/set-points/table-file.ts';
import { readRoute } from '../../web/shell/routes.ts';

const begun = draftOf(DEFAULT_TABLE, DEFAULT_TABLE);
function lineOf(draft: Draft, id: string): DraftPoint {
  const found = draft.points.find((point) => point.id === id);
  if (found === undefined) throw new Error(`no ${id}`);
  return found;
}
function defaultPoint(id: string): SetPoint {
  const found = DEFAULT_TABLE.setPoints.find((point) => point.id === id);
  if (found === undefined) throw new Error(`no ${id}`);
  return found;
}
const change = (id: string, fields: Partial<DraftPoint>, draft = begun) =>
  changePoint(draft, lineOf(draft, id).key, fields);
const errorsOf = (draft: Draft) =>
  readDraft(draft)
    .problems.filter((problem) => problem.severity === 'error')
    .map(({ path, code }) => [path, code]);

test('the page has its own address', () => {
  expect(readRoute('/set-points', '')).toEqual({ page: 'set-points' });
});

describe('a draft', () => {
  it('begins as the table in force, one version on, and reads back as the same to the last digit', () => {
    const { table, problems } = readDraft(begun);
    expect(problems).toEqual([]);
    expect(table).toEqual({ ...DEFAULT_TABLE, version: DEFAULT_TABLE.version + 1 });
    expect(isChanged(begun)).toBe(false);
    expect(draftChanges(begun)).toEqual([]);
  });

  it('keeps what is typed and says where it is no number, beside nothing else', () => {
    for (const [typed, words] of [
      ['', 'it is missing'],
      ['1,5', 'Write a point for decimals, and no comma.'],
      ['abc', 'This is not a number.'],
    ] as const) {
      const draft = change('co-35', { value: typed });
      expect(lineOf(draft, 'co-35').value).toBe(typed);
      const index = draft.points.findIndex((point) => point.id === 'co-35');
      const { table, problems } = readDraft(draft);
      expect(table).toBeNull();
      expect(problems).toEqual([
        { path: `setPoints.${index}.value`, code: 'number-invalid', words, severity: 'error' },
      ]);
    }
  });

  it('does not call a level missing while its number is half typed', () => {
    expect(errorsOf(change('lel-25', { value: '-' })).map(([, code]) => code)).toEqual(['number-invalid']);
  });

  it('takes delays in seconds, to the millisecond, and refuses what is below zero', () => {
    const delayed = readDraft(change('co-35', { onDelayS: '1.5', offDelayS: '0.001' })).table;
    expect(delayed?.setPoints.find((point) => point.id === 'co-35')).toMatchObject({ onDelayMs: 1500, offDelayMs: 1 });
    expect(errorsOf(change('co-35', { onDelayS: '-1' })).map(([, code]) => code)).toEqual(['negative']);
    expect(errorsOf(change('co-35', { deadband: '-0.1' })).map(([, code]) => code)).toEqual(['negative']);
  });

  it('is held to the same checks as on the post: what is protected is neither removed nor weakened', () => {
    const without = removePoint(begun, lineOf(begun, 'lel-25').key);
    expect(errorsOf(without)).toEqual([['setPoints', 'protected-missing']]);
    expect(readDraft(without).table).toBeNull();
    expect(errorsOf(change('co-idlh', { protected: false }))).toEqual([['setPoints', 'protected-weakened']]);
  });

  it('needs a name and a version that is a whole number', () => {
    expect(errorsOf({ ...begun, name: ' ' })).toEqual([['name', 'no-name']]);
    for (const version of ['', '1.5', '-1', 'x'])
      expect(errorsOf({ ...begun, version })).toEqual([['version', 'version-invalid']]);
    expect(readDraft({ ...begun, name: ' County ', version: '12' }).table).toMatchObject({
      name: 'County',
      version: 12,
    });
  });

  it('says who is not fully there: a new set-point needs a short name, a level, a deadband and a source', () => {
    const added = addPoint(begun, 'co');
    expect(errorsOf(added).map(([path]) => path?.split('.')[2])).toEqual(['id', 'value', 'deadband']);
    const key = begun.nextKey;
    const filled = changePoint(added, key, { id: 'co-9', value: '9', deadband: '1' });
    expect(errorsOf(filled).map(([, code]) => code)).toEqual(['no-source']);
    const sourced = changePoint(filled, key, { source: 'County procedure 4', sourceTag: 'seen' });
    const { table } = readDraft(sourced);
    expect(table?.setPoints.at(-1)).toMatchObject({ id: 'co-9', channel: 'co', unit: 'ppm', offDelayMs: 5000 });
    expect(draftChanges(sourced)).toEqual(['New: carbon monoxide, co-9: caution at or over 9 ppm']);
  });

  it('gives the unit that follows from what is compared, and never leaves the one of before', () => {
    const { key } = lineOf(begun, 'gamma-2mr');
    const times = changePoint(begun, key, { compare: 'times-background' });
    expect(lineOf(times, 'gamma-2mr').unit).toBe('x');
    expect(lineOf(changePoint(times, key, { compare: 'dose' }), 'gamma-2mr').unit).toBe('mR');
    expect(lineOf(changePoint(times, key, { compare: 'value' }), 'gamma-2mr').unit).toBe('uR/h');
    expect(lineOf(changePoint(times, key, { compare: 'value', channel: 'nh3' }), 'gamma-2mr').unit).toBe('ppm');
  });

  it('tells what it changes, and takes it back', () => {
    const raised = change('lel-10', { value: '20', action: 'Hold' });
    expect(changedFields(lineOf(raised, 'lel-10'))).toEqual(['action', 'value']);
    expect(isChanged(raised)).toBe(true);
    expect(draftChanges(raised)).toEqual([
      'Changed: combustible, lel-10: at or over 10 %LEL, now at or over 20 %LEL; what to do',
    ]);
    const gone = removePoint(raised, lineOf(raised, 'gamma-10mr').key);
    expect(draftChanges(gone).at(-1)).toBe('Gone: gamma, gamma-10mr: danger at or over 10,000 µR/h');
    const back = putBack(gone, defaultPoint('gamma-10mr'));
    expect(removedFrom(back)).toEqual([]);
    expect(lineOf(back, 'gamma-10mr').key).not.toBe(lineOf(begun, 'gamma-10mr').key);
    expect(isChanged(change('lel-10', { value: '10', action: defaultPoint('lel-10').action }, back))).toBe(false);
  });

  it('has another mark as soon as anything is changed', () => {
    const marks = [begun, change('lel-10', { value: '11' }), { ...begun, version: '3' }].map((draft) => {
      const { table } = readDraft(draft);
      return table === null ? '' : tableMark(table);
    });
    expect(new Set(marks).size).toBe(3);
    expect(tableMark({ ...DEFAULT_TABLE, reviewedBy: 'officer-1' })).toBe(tableMark(DEFAULT_TABLE));
  });
});

describe('words', () => {
  it('of a place in the table', () => {
    expect(pathWords('setPoints.3.deadband', DEFAULT_TABLE.setPoints)).toBe('combustible, lel-10, deadband');
    expect(pathWords('setPoints.99.value', DEFAULT_TABLE.setPoints)).toBe('Set-point 100, level');
    expect(pathWords('setPoints', [])).toBe('The whole table');
    expect(pathWords('version', [])).toBe('Table, version');
    expect(problemWords({ path: '', code: 'x', words: 'lel-10: this id is there twice', severity: 'error' })).toBe(
      'this id is there twice',
    );
  });
  it('of deadbands and delays, in the unit that the level is written in', () => {
    expect(deadbandWords(defaultPoint('voc-1'))).toBe('200 ppb');
    expect(deadbandWords(defaultPoint('gamma-10r'))).toBe('500,000 µR/h');
    expect(deadbandWords(defaultPoint('gamma-3x'))).toBe('0.5 × background');
    expect(deadbandWords(defaultPoint('dose-5r'))).toBe('none');
    expect([delayWords(0), delayWords(5000), delayWords(1500)]).toEqual(['at once', 'after 5 s', 'after 1.5 s']);
    expect(groupedDigits('at or over 10000000 µR/h')).toBe('at or over 10,000,000 µR/h');
    for (const value of [10_000_000, 0.15, 1e-7, -2.5e-10, 1.25e21, 1e21, 0, 5])
      expect([typedNumber(value), Number(typedNumber(value))]).toEqual([expect.stringMatching(/^-?[\d.]+$/), value]);
  });
  it('groups by channel, the six first', () => {
    const groups = byChannel([{ channel: 'nh3' }, { channel: 'gamma' }, { channel: 'o2' }, { channel: 'nh3' }]);
    expect(groups.map(({ channel, points }) => [channel, points.length])).toEqual([
      ['o2', 1],
      ['gamma', 1],
      ['nh3', 2],
    ]);
  });
});

describe('a file', () => {
  it('holds the table whole, and is named by it', () => {
    const text = tableToText(DEFAULT_TABLE);
    expect(readImport(text)).toEqual({ table: DEFAULT_TABLE, problems: [] });
    expect(setPointTable.parse(JSON.parse(text))).toEqual(DEFAULT_TABLE);
    expect(fileName(DEFAULT_TABLE)).toBe('set-points-starting-points-1.json');
    expect(fileName({ name: '../é', version: 2 })).toBe('set-points-table-2.json');
  });
  it('that is no table gives none, with its problems', () => {
    expect(readImport('{')).toMatchObject({ table: null, problems: [{ code: 'not-json' }] });
    expect(readImport('{"name":1}')).toMatchObject({ table: null });
    expect(readImport('{"name":1}').problems.map(({ path }) => path)).toContain('name');
    expect(readImport(`"${'x'.repeat(1024 * 1024)}"`)).toMatchObject({
      table: null,
      problems: [{ code: 'too-large' }],
    });
    const many = Array.from({ length: 501 }, (_, i) => ({ ...DEFAULT_TABLE.setPoints[0], id: `p-${i}` }));
    const table = { ...DEFAULT_TABLE, setPoints: many };
    expect(readImport(JSON.stringify(table))).toMatchObject({ table: null, problems: [{ code: 'too-many' }] });
  });
  it('with an error can be mended: the table is there, and what is wrong', () => {
    const wrong = { ...DEFAULT_TABLE, setPoints: DEFAULT_TABLE.setPoints.filter((point) => point.id !== 'lel-25') };
    const read = readImport(JSON.stringify(wrong));
    expect(read.table).toEqual(wrong);
    expect(read.problems.map(({ code }) => code)).toEqual(['protected-missing']);
    // What comes from outside is compared with what is in force, and keeps its own version.
    const draft = draftOf(wrong, DEFAULT_TABLE);
    expect([draft.version, draftChanges(draft)]).toEqual([
      '1',
      ['Gone: combustible, lel-25: danger at or over 25 %LEL'],
    ]);
  });
});

describe('background', () => {
  const at = '2026-05-14T13:05:09.000Z';
  it('is asked for where it is read off a monitor, and where the table is held against it', () => {
    expect(backgroundChannels(DEFAULT_TABLE.setPoints)).toEqual(['o2', 'voc', 'gamma']);
    expect(backgroundChannels([{ channel: 'co', compare: 'above-background' }])).toEqual(['o2', 'co', 'voc', 'gamma']);
    expect(backgroundChannels([{ channel: 'nh3', compare: 'times-background' }])).toEqual([
      'o2',
      'voc',
      'gamma',
      'nh3',
    ]);
  });
  it('in force is the monitor’s own, else the site’s, else assumed, and says which', () => {
    const site = { channel: 'gamma', value: 9, unit: 'uR/h', by: 'officer-1', at };
    const own = { ...site, monitor: 'M-07', value: 11, override: 'two agree' };
    expect(backgroundInForce([], 'M-07', 'gamma', 'UTC')).toEqual({
      value: '7 µR/h',
      taken: false,
      words: 'assumed: background not taken',
    });
    expect(backgroundInForce([site], 'M-07', 'gamma', 'UTC')).toEqual({
      value: '9 µR/h',
      taken: true,
      words: 'of the site, taken 13:05:09 by officer-1',
    });
    expect(backgroundInForce([site, own], 'M-07', 'gamma', 'UTC').words).toBe(
      'taken 13:05:09 by officer-1, against the checks: two agree',
    );
    expect(backgroundInForce([own], undefined, 'gamma', 'UTC').taken).toBe(false);
    expect(backgroundInForce([own], 'M-08', 'gamma', 'UTC').taken).toBe(false);
  });
  it('is typed in any unit of the channel, the board’s own first', () => {
    expect(typedUnits('o2')).toEqual(['%vol', 'ppm', 'ppb']);
    expect(typedUnits('gamma')).toEqual(['uR/h', 'mR/h', 'R/h', 'uSv/h', 'mSv/h', 'Sv/h']);
    expect(typedUnits('voc')).toEqual(['ppb', '%vol', 'ppm']);
  });
  it('asks for a reason where a check refuses it, for a look where it ends alarms, and else only says', () => {
    const message = 'This would end: M-07: gamma 24 µR/h; M-08: gamma 25 µR/h';
    expect(nextOf({ status: 'changed', code: 'would-silence', message })).toEqual({
      kind: 'confirm',
      alarms: ['M-07: gamma 24 µR/h', 'M-08: gamma 25 µR/h'],
    });
    for (const code of ['above-ceiling', 'out-of-range', 'past-staging', 'off-normal', 'stale', 'in-doubt'])
      expect(nextOf({ status: 'refused', code, message: 'why' })).toEqual({ kind: 'override', words: 'why' });
    for (const code of ['wrong-unit', 'not-a-background', 'nothing-to-take', 'no-such-monitor', 'full', 'no-answer'])
      expect(nextOf({ status: 'refused', code })).toEqual({ kind: 'said' });
    expect(nextOf({ status: 'done' })).toEqual({ kind: 'said' });
  });
});
