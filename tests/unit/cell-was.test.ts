/** What a cell says while an alarm stands that its value of now no longer meets. */
import { expect, test } from 'vitest';
import { co, createRun, o2 } from './fold-run.ts';

// 29 CFR 1910.146(b): oxygen below 19.5 %vol is a hazardous atmosphere. Deadband and off-delay: firm defaults.
test('within the deadband it was below the level, and is not', () => {
  const run = createRun();
  run.read(1, o2(18.9));
  expect(run.cell('o2').levelWords).toBe('below 19.5 %vol');
  run.read(2, o2(19.55));
  expect(run.cell('o2')).toMatchObject({ level: 'danger', levelWords: 'was below 19.5 %vol' });
  run.read(3, o2(19.4));
  expect(run.cell('o2').levelWords).toBe('below 19.5 %vol');
});

test('during the off-delay too, and when the number is gone', () => {
  const run = createRun();
  run.read(1, co(40));
  run.read(2, co(0));
  expect(run.cell('co')).toMatchObject({ level: 'caution', levelWords: 'was at or over 35 ppm' });
  run.read(3, { co: { flag: 'fault' } });
  expect(run.cell('co')).toMatchObject({ level: 'caution', levelWords: 'was at or over 35 ppm' });
});

test('above what the sensor can say it is past the level now', () => {
  const run = createRun();
  run.read(1, co(40));
  run.read(2, { co: { flag: 'over-range' } });
  expect(run.cell('co').levelWords).toBe('at or over 35 ppm');
});

test('below what the sensor can say it is below the level now', () => {
  const run = createRun();
  run.read(1, { o2: { flag: 'under-range' } });
  expect(run.cell('o2')).toMatchObject({ level: 'danger', levelWords: 'below 19.5 %vol' });
});
