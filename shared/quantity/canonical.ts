/**
 * Brings a value as sent to its channel's canonical unit without gaining or losing a digit.
 * Powers of ten are shifted in decimal, so that 0.07 µSv/h is exactly the 7 µR/h of a set-point and a boundary
 * is met when it is met. Field equivalence 1 R = 1 rem = 10 mSv (REMM, "zones of radiological response":
 * 10 mR/h = 0.1 mSv/h); the physical figure differs by up to about 12 %, see docs/cautions.md.
 */
import { CHANNELS, isKnownChannel, type Unit } from './channels.ts';

/** Power of ten from each dose-rate unit to µR/h, and from each amount unit to ppm. */
const TO_MICRO_R: Partial<Record<Unit, number>> = {
  'uR/h': 0,
  'mR/h': 3,
  'R/h': 6,
  'uSv/h': 2,
  'mSv/h': 5,
  'Sv/h': 8,
};
const TO_PPM: Partial<Record<Unit, number>> = { ppm: 0, ppb: -3, '%vol': 4 };

/**
 * The value in the canonical unit of `channel`, or null where the unit does not belong to the channel or where
 * the step needs something that a packet does not carry (mg/m³ needs a molar mass, %LEL a basis).
 * A channel that is not one of the six keeps its unit as sent.
 */
export function toCanonical(channel: string, value: number, unit: Unit): { value: number; unit: Unit } | null {
  if (!isKnownChannel(channel)) return { value, unit };
  const want = CHANNELS[channel].unit;
  if (unit === want) return { value, unit };
  if (want === 'uR/h') return shifted(value, TO_MICRO_R[unit], 0, want);
  if (want === 'ppm') return shifted(value, TO_PPM[unit], 0, want);
  if (want === '%vol') return shifted(value, TO_PPM[unit], TO_PPM['%vol'] ?? 0, want);
  return null;
}

function shifted(value: number, from: number | undefined, to: number, unit: Unit) {
  return from === undefined ? null : { value: shiftDecimal(value, from - to), unit };
}

/** `value` × 10^`power`, correctly rounded: what one gets by moving the decimal point on paper. */
export function shiftDecimal(value: number, power: number): number {
  if (power === 0 || value === 0) return value;
  if (Number.isSafeInteger(value) && Math.abs(power) <= 22) {
    // Both operands are exact, so the one operation is correctly rounded; a fraction such as 0.07 is not exact.
    return power > 0 ? value * 10 ** power : value / 10 ** -power;
  }
  const [mantissa = '0', exponent = '0'] = String(value).split('e');
  return Number(`${mantissa}e${Number(exponent) + power}`);
}

/**
 * Compares two quantities of one unit: -1, 0 or 1. Values that differ by less than a part in 10^9 (of 1, where both
 * are smaller) are equal, so
 * that 0.1 + 0.2 meets 0.3; no field sensor resolves that, and no displayed rounding is ever compared.
 */
export function compare(a: number, b: number): -1 | 0 | 1 {
  const difference = a - b;
  const limit = 1e-9 * Math.max(1, Math.abs(a), Math.abs(b));
  if (Math.abs(difference) <= limit) return 0;
  return difference < 0 ? -1 : 1;
}
