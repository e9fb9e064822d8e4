/** The calculations of the page, in the order in which they are offered. */
import type { Calculation } from './calculation.ts';
import { amounts } from './calculations/amounts.ts';
import { explosiveLimit, otherGas } from './calculations/combustible.ts';
import { line, sensorLag } from './calculations/lag.ts';
import { dampAir, oxygen, oxygenRemaining } from './calculations/oxygen.ts';
import { atDistance, distanceTo, doseTaken, doseUnits } from './calculations/radiation.ts';
import { stay } from './calculations/stay.ts';
import { lamp, mixture, pidReading } from './calculations/vapour.ts';

export const GROUPS: readonly { readonly name: string; readonly calculations: readonly Calculation[] }[] = [
  { name: 'Gas', calculations: [amounts, explosiveLimit, otherGas] },
  { name: 'Oxygen', calculations: [oxygen, oxygenRemaining, dampAir] },
  { name: 'Radiation', calculations: [stay, doseTaken, doseUnits, atDistance, distanceTo] },
  { name: 'Organic vapour', calculations: [pidReading, mixture, lamp] },
  { name: 'Lag', calculations: [sensorLag, line] },
];

export const FIRST = amounts;
