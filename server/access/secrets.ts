/** Random secrets that machines carry. They have full entropy, so a fast hash is enough to store them by. */
import { hash, randomBytes, randomInt, timingSafeEqual } from 'node:crypto';

/** A new secret of 256 random bits: `prefix` and 43 characters of base64url. */
export function newSecret(prefix: string): string {
  return prefix + randomBytes(32).toString('base64url');
}

/** SHA-256 of `secret` in hexadecimal. */
export function digest(secret: string): string {
  return hash('sha256', secret);
}

/** The same as the 32 bytes that are stored. */
export function digestBytes(secret: string): Buffer {
  return Buffer.from(digest(secret), 'hex');
}

/** Whether `secret` has the digest `expected` (hexadecimal); the time does not tell how near it was. */
export function matches(secret: string, expected: string): boolean {
  return timingSafeEqual(digestBytes(secret), Buffer.from(expected, 'hex'));
}

/** Letters and figures that are not taken for one another when read aloud or from across a room. */
const READABLE = '23456789ABCDEFGHJKMNPQRSTVWXYZ';

/** A code of eight readable characters (39 bits) for a person to type, good only with few tries and a short life. */
export function newReadableCode(): string {
  return Array.from({ length: 8 }, () => READABLE.charAt(randomInt(READABLE.length))).join('');
}

/** A typed code as it was issued: upper case, without the spaces and dashes that people add. */
export function normaliseCode(typed: string): string {
  return typed.toUpperCase().replace(/[\s-]/g, '');
}

/** A short public name for a stored secret, such as `t-4f0c9a1be2d3`. */
export function newId(prefix: string): string {
  return prefix + randomBytes(6).toString('hex');
}
