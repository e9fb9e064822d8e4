/** How an answer's number is written: significant figures, thousands apart, rounded to the side that the answer names. */
import type { Rounding } from '../../shared/quantity/worked.ts';

/** A number that is a rounding error away from a round one is that round one: 138 min is not 137 for 137.99999999999. */
const SLACK = 1e-9;

/** `value` to as many significant figures as `rounding` says, towards its side. */
export function rounded(value: number, { figures, towards }: Rounding): number {
  if (value === 0 || !Number.isFinite(value)) return value;
  const near = Number(value.toPrecision(figures));
  if (towards === 'nearest' || Math.abs(near - value) <= SLACK * Math.abs(value)) return near;
  const right = towards === 'up' ? near >= value : near <= value;
  if (right) return near;
  const step = 10 ** (Math.floor(Math.log10(Math.abs(value))) - figures + 1);
  return Number((near + (towards === 'up' ? step : -step)).toPrecision(figures));
}

/** A number for people: 38000 as "38,000", 0.0000005 as "5 × 10⁻⁷". */
export function figures(value: number): string {
  if (value === 0) return '0';
  const size = Math.abs(value);
  if (size >= 1e12 || size < 1e-6) {
    const [mantissa = '', exponent = ''] = value.toExponential().split('e');
    return `${signed(mantissa)} × 10${superscript(Number(exponent))}`;
  }
  const [whole = '', part] = plainDecimal(value).split('.');
  const apart = whole.replace(/\B(?=(\d{3})+$)/g, ',');
  return signed(part === undefined ? apart : `${apart}.${part}`);
}

function plainDecimal(value: number): string {
  const text = String(value);
  return text.includes('e') ? value.toFixed(20).replace(/0+$/, '') : text;
}

function signed(text: string): string {
  return text.replace(/^-/, '−');
}

function superscript(exponent: number): string {
  return [...String(exponent)].map((sign) => (sign === '-' ? '⁻' : ('⁰¹²³⁴⁵⁶⁷⁸⁹'[Number(sign)] ?? sign))).join('');
}
