/**
 * Numbers as they were sent, in decimal. A reading of 20.9 is 209 tenths, and its integral is a whole number of
 * tenths times milliseconds: whole numbers add up to the same sum in any order, doubles do not.
 */

/** The most significant digits of a reading that are kept; no field sensor resolves more. */
const SIGNIFICANT_DIGITS = 12;
/** The most decimal places that are kept. */
export const MAX_DECIMALS = 18;
/** Below this a scaled number has at most 15 digits, and 15 digits survive the way through a double. */
const SCALED_LIMIT = 2 ** 49;

const POWERS = Float64Array.from({ length: 23 }, (_, power) => Number(`1e${power}`));

/** An element that must be there; a hole means that the data was damaged. */
export function item(list: readonly number[], index: number): number {
  const found = list[index];
  if (found === undefined) throw new RangeError(`nothing at ${index} of ${list.length}`);
  return found;
}

/** 10 to a whole power from 0 to 22, exact; NaN beyond. Apart from `item`, which stays fast on one kind of list. */
function powerOfTen(power: number): number {
  return POWERS[power] ?? Number.NaN;
}

/**
 * `value` as a whole number of 10^-`decimals` (0 to 22), or NaN where it is none or has more than 15 digits.
 * The division is correctly rounded, so the test is exact.
 */
export function scaled(value: number, decimals: number): number {
  const power = powerOfTen(decimals);
  const whole = Math.round(value * power);
  return whole < SCALED_LIMIT && whole > -SCALED_LIMIT && whole / power === value ? whole : Number.NaN;
}

/** The reading with at most 12 significant digits and 18 decimals: what is integrated. -0 becomes 0. */
export function asSent(value: number): number {
  if (Number.isInteger(value) && Math.abs(value) < 1e12) return value + 0;
  for (let decimals = 1; decimals <= 4; decimals += 1) {
    if (Math.abs(scaled(value, decimals)) < 1e12) return value;
  }
  const digits = Number(value.toPrecision(SIGNIFICANT_DIGITS));
  return Math.abs(digits) < 1 ? Number(digits.toFixed(MAX_DECIMALS)) + 0 : digits;
}

/** `value` = mantissa × 10^exponent with the shortest mantissa, for a value from `asSent`. */
export function decompose(value: number): { mantissa: number; exponent: number } {
  const [digits = '0', power = '0'] = value.toExponential().split('e');
  const point = digits.indexOf('.');
  const places = point < 0 ? 0 : digits.length - point - 1;
  let mantissa = Number(digits.replace('.', ''));
  let exponent = Number(power) - places;
  while (mantissa !== 0 && mantissa % 10 === 0) {
    mantissa /= 10;
    exponent += 1;
  }
  return mantissa === 0 ? { mantissa: 0, exponent: 0 } : { mantissa, exponent };
}

/** The decimal places of a value from `asSent`, 0 for whole numbers. */
export function decimalsOf(value: number): number {
  if (Number.isInteger(value)) return 0;
  for (let decimals = 1; decimals <= 4; decimals += 1) if (!Number.isNaN(scaled(value, decimals))) return decimals;
  return Math.max(0, -decompose(value).exponent);
}

/** `value` as a whole number of 10^-`decimals`, of any size; `decimals` must be at least its own. */
export function scaledBig(value: number, decimals: number): bigint {
  const { mantissa, exponent } = decompose(value);
  return BigInt(mantissa) * 10n ** BigInt(exponent + decimals);
}

/** The double nearest to `mantissa` × 10^`exponent`. */
export function fromDecimal(mantissa: number | bigint, exponent: number): number {
  if (typeof mantissa === 'number' && exponent <= 0 && exponent >= -22) return mantissa / powerOfTen(-exponent);
  return Number(`${mantissa}e${exponent}`);
}
