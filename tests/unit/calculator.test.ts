import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { SUBSTANCES } from '../../shared/quantity/substances.ts';
import { GROUPS } from '../../web/calculator/all-calculations.ts';
import { type Calculation, initialValues, solve, unitName, type Values } from '../../web/calculator/calculation.ts';
import { minuteWords } from '../../web/calculator/calculations/stay.ts';
import { figures, rounded } from '../../web/calculator/figures.ts';
import { readNumber } from '../../web/calculator/read-number.ts';
import { chooseIn, startSheet, typeInto } from '../../web/calculator/sheet.ts';
import { readRoute } from '../../web/shell/routes.ts';

const ALL = GROUPS.flatMap(({ calculations }) => calculations);
function find(id: string): Calculation {
  const found = ALL.find((one) => one.id === id);
  if (!found) throw new Error(`no calculation ${id}`);
  return found;
}
function solved(id: string, typed: Values) {
  const calculation = find(id);
  return solve(calculation, { ...initialValues(calculation), ...typed });
}
/** Each answer as "label: value unit", words or the code of a refusal. */
function said(id: string, typed: Values): string[] {
  return solved(id, typed).results.map(({ label, answer }) => {
    if (!answer.ok) return `${label}: ${answer.code}`;
    if (answer.value === null) return `${label}: ${answer.words}`;
    return `${label}: ${figures(rounded(answer.value, answer.rounding))} ${answer.unit}`;
  });
}

describe('a number as it is typed', () => {
  test.each([
    ['19.5', 19.5],
    [' 7 ', 7],
    ['.5', 0.5],
    ['5.', 5],
    ['-10', -10],
    ['−10', -10],
    ['+3', 3],
  ])('%j is %s', (text, value) => {
    expect(readNumber(text)).toEqual({ ok: true, value });
  });
  test.each([
    ['', 'empty'],
    ['  ', 'empty'],
    ['1,500', 'comma'],
    ['1,5', 'comma'],
    ['abc', 'not-a-number'],
    ['1e5', 'not-a-number'],
    ['0x10', 'not-a-number'],
    ['Infinity', 'not-a-number'],
    ['-', 'not-a-number'],
    ['1 2', 'not-a-number'],
  ])('%j is refused: %s', (text, code) => {
    expect(readNumber(text)).toMatchObject({ ok: false, code });
  });
});

describe('a number as it is written', () => {
  test.each([
    [38_277.5, 2, 'nearest', '38,000'],
    [250.33, 3, 'down', '250'],
    [137.99999999999997, 3, 'down', '138'],
    [253.9, 3, 'down', '253'],
    [4.4721, 2, 'up', '4.5'],
    [4.41, 2, 'up', '4.5'],
    [9.91, 2, 'up', '10'],
    [0.007, 12, 'nearest', '0.007'],
    [0, 3, 'up', '0'],
    [-10, 4, 'nearest', '−10'],
    [1_000_000, 4, 'nearest', '1,000,000'],
    [5e-7, 4, 'nearest', '5 × 10⁻⁷'],
    [0.000002, 4, 'nearest', '0.000002'],
  ] as const)('%s to %s figures %s: %s', (value, places, towards, expected) => {
    expect(figures(rounded(value, { figures: places, towards }))).toBe(expected);
  });
  test('never on the wrong side', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-3, max: 1e6, noNaN: true }), fc.integer({ min: 1, max: 6 }), (value, places) => {
        const down = rounded(value, { figures: places, towards: 'down' });
        const up = rounded(value, { figures: places, towards: 'up' });
        expect(down).toBeLessThanOrEqual(value * (1 + 2e-9));
        expect(up).toBeGreaterThanOrEqual(value * (1 - 2e-9));
        expect(up - down).toBeLessThanOrEqual(10 ** (Math.floor(Math.log10(value)) - places + 1) * 1.001);
      }),
    );
  });
});

describe('every calculation', () => {
  test.each(ALL.map((one) => [one.id, one] as const))(
    '%s: names no field twice, and answers with its working',
    (_id, one) => {
      const names = one.fields.map(({ name }) => name);
      expect(new Set(names).size).toBe(names.length);
      const values: Record<string, string> = { ...initialValues(one) };
      for (const { kind, name } of one.fields) {
        if (kind === 'number' && values[name] === '') values[name] = name.startsWith('fraction') ? '0.25' : '10';
      }
      const { results, waiting, wrong } = solve(one, values);
      expect([waiting, wrong]).toEqual([[], {}]);
      expect(results.length).toBeGreaterThan(0);
      for (const { answer } of results) {
        expect(answer).toMatchObject({
          ok: true,
          formula: expect.stringMatching(/\S/),
          source: expect.stringMatching(/\S/),
        });
      }
    },
  );
  test.each(ALL.map((one) => [one.id, one] as const))('%s: does not answer before it is filled in', (_id, one) => {
    const needed = one.fields.filter((field) => field.kind === 'number' && !field.optional);
    for (const field of needed) {
      const values: Record<string, string> = { ...initialValues(one) };
      for (const { name } of needed) values[name] = '10';
      values[field.name] = '';
      expect(solve(one, values)).toMatchObject({ results: [], waiting: [field.label] });
    }
  });
  test.each(ALL.map((one) => [one.id, one] as const))('%s: every number has its unit beside it', (_id, one) => {
    for (const field of one.fields) {
      if (field.kind !== 'number') continue;
      if (typeof field.unit === 'string') expect(field.unit).toMatch(/\S/);
      else expect(field.unit.map(({ value }) => value)).toContain(initialValues(one)[unitName(field)]);
    }
  });
  test.each(ALL.map((one) => [one.id, one] as const))('%s: nothing typed makes it throw or answer NaN', (_id, one) => {
    const text = fc.oneof(
      fc.constantFrom('', '0', '-1', '1', 'abc', '1,5', '999999999999999999999', '0.0000001', '20.9', '25'),
      fc.double({ noNaN: true, min: -1e6, max: 1e6 }).map((value) => value.toFixed(4)),
    );
    const fields = one.fields.filter(({ kind }) => kind === 'number');
    fc.assert(
      fc.property(fc.array(text, { minLength: fields.length, maxLength: fields.length }), (texts) => {
        const values: Record<string, string> = { ...initialValues(one) };
        fields.forEach(({ name }, index) => {
          values[name] = texts[index] ?? '';
        });
        for (const { answer } of solve(one, values).results) {
          if (answer.ok && answer.value !== null) expect(Number.isFinite(answer.value)).toBe(true);
        }
      }),
    );
  });
});

describe('what is answered', () => {
  test('oxygen displaced: about 38,000 ppm, and that damp air alone can do it', () => {
    expect(said('oxygen', { oxygen: '20.1' })).toEqual(['Displacing gas: 38,000 ppm']);
    expect(solved('oxygen', { oxygen: '20.1' }).results[0]?.beside).toMatch(/warm damp air alone can do this/);
  });
  test('10 %LEL of carbon monoxide, beside its IDLH and on the other list', () => {
    const typed = { amount: '10', amountUnit: '%LEL', substance: 'carbon monoxide/0', lel: '12.5' };
    expect(said('explosive-limit', typed)).toEqual([
      'In %vol: 1.25 %vol',
      'In ppm: 12,500 ppm',
      'The same air on 10.9 %vol (IEC 60079-20-1:2010): 11.47 %LEL',
    ]);
    expect(solved('explosive-limit', typed).results[1]?.beside).toBe(
      'about 10 × its IDLH of 1,200 ppm (from memory: verify before use)',
    );
  });
  test('100 ppb are 0.1 ppm; without a molar mass there is no mg/m³', () => {
    expect(said('amounts', { amount: '100', amountUnit: 'ppb' })).toEqual([
      'In %vol: 0.00001 %vol',
      'In ppm: 0.1 ppm',
      'In mg/m³: missing',
    ]);
  });
  test('a PID reading in ppb', () => {
    expect(said('pid-reading', { reading: '500', readingUnit: 'ppb', factor: '0.5' })).toEqual([
      'Amount of the substance: 0.25 ppm',
    ]);
  });
  test('stay time is rounded down, in hours as well', () => {
    const typed = {
      limit: '5',
      accumulated: '1200',
      rate: '900',
      exitMinutes: '6',
      exitRate: '450',
    };
    expect(said('stay', typed)).toEqual(['Leave within: 250 min']);
    expect(solved('stay', typed).results[0]?.beside).toBe('4 h 10 min');
    expect(said('stay', { ...typed, exitRate: '' })).toEqual(['Stay time: missing']);
    expect(said('stay', { ...typed, accumulated: '5000' })).toEqual(['Leave within: 0 min']);
    expect(minuteWords(0)).toBe('LEAVE NOW');
    expect(minuteWords(59)).toBeNull();
  });
  test('half a part of a mixture is refused, and so is a limit for some parts alone', () => {
    const two = { fraction1: '0.05', factor1: '0.5', fraction2: '0.95', factor2: '4' };
    expect(said('mixture', { ...two, reading: '10' })).toEqual([
      'Correction factor of the mixture: 2.963 ',
      'All vapours together: 29.6 ppm',
    ]);
    expect(said('mixture', { ...two, factor2: '' })).toEqual(['Mixture: missing']);
    expect(said('mixture', { ...two, limit1: '1' })[1]).toBe('Limit of the mixture: missing');
    expect(said('mixture', { ...two, limit1: '1', limit2: '50' }).slice(1)).toEqual([
      'Limit of the mixture: 14.4 ppm',
      'Set-point in isobutylene units: 4.89 ppm isobutylene',
    ]);
  });
});

describe('further parts of a mixture', () => {
  const calculation = find('mixture');
  const shown = (typed: Values) => {
    const values = { ...initialValues(calculation), ...typed };
    return calculation.fields.filter(({ shownWhen }) => shownWhen?.(values) ?? true).map(({ name }) => name);
  };
  test('are offered once the one before is begun', () => {
    expect(shown({})).not.toContain('fraction3');
    expect(shown({ factor2: '4' })).toContain('fraction3');
    expect(shown({ factor2: '4' })).not.toContain('fraction4');
  });
  test('what holds something is never out of sight', () => {
    expect(shown({ limit4: '50' })).toEqual(expect.arrayContaining(['fraction4', 'factor4', 'limit4']));
  });
});

describe('a chosen substance', () => {
  const calculation = find('amounts');
  const field = calculation.fields.find(({ name }) => name === 'substance');
  if (field?.kind !== 'choice') throw new Error('no substance to choose');
  const empty = startSheet(initialValues(calculation));

  test('fills its molar mass in, with source and tag', () => {
    const sheet = chooseIn(empty, field, 'chlorine');
    expect(sheet.values.molarMass).toBe('70.9');
    expect(sheet.origins.molarMass).toMatch(/NIOSH Pocket Guide.*seen in the source/);
    expect(chooseIn(empty, field, 'methane').origins.molarMass).toMatch(/memory/);
  });
  test('what somebody types over is theirs', () => {
    const sheet = typeInto(chooseIn(empty, field, 'chlorine'), 'molarMass', '71');
    expect(sheet.origins).toEqual({});
    expect(chooseIn(sheet, field, '').values.molarMass).toBe('71');
  });
  test('another choice leaves nothing of the first behind', () => {
    expect(chooseIn(chooseIn(empty, field, 'chlorine'), field, '').values.molarMass).toBe('');
  });
});

describe('the data', () => {
  test('no value is without a source, and none is 0', () => {
    for (const one of SUBSTANCES) {
      const facts = [one.molarMass, one.massPerPpm, one.ionisationEv, ...one.lel, ...one.rel, ...one.pel, ...one.idlh];
      for (const fact of facts) {
        if (fact === undefined) continue;
        expect(fact.source).toMatch(/\S/);
        expect(fact.value).toBeGreaterThan(0);
        if (fact.tag === 'memory') expect(fact.source).toMatch(/from memory/i);
      }
    }
  });
  // CAS registry numbers carry a check digit: the sum of the digits, each by its place from the right, modulo ten.
  test.each(SUBSTANCES.map(({ name, cas }) => [name, cas]))('%s: check digit of %s', (_name, cas = '') => {
    const digits = [...cas.replaceAll('-', '')].map(Number);
    const check = digits.pop();
    expect(digits.reverse().reduce((sum, digit, index) => sum + digit * (index + 1), 0) % 10).toBe(check);
  });
});

test('the page has its path', () => {
  expect(readRoute('/calculator', '')).toEqual({ page: 'calculator' });
});
