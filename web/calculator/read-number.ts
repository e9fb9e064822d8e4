/** Reads a number as a person types it. An empty field is empty, not 0. */
export type ReadNumber =
  | { readonly ok: true; readonly value: number }
  | { readonly ok: false; readonly code: 'empty' | 'comma' | 'not-a-number'; readonly message: string };

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)$/;

/**
 * A decimal with a point. A comma is refused rather than guessed at: 1,500 is a thousand and a half to one reader and
 * one and a half to another.
 */
export function readNumber(text: string): ReadNumber {
  const bare = text.trim().replace(/^\u2212/, '-');
  if (bare === '') return { ok: false, code: 'empty', message: '' };
  if (bare.includes(',')) {
    return { ok: false, code: 'comma', message: 'Write a point for decimals, and no comma.' };
  }
  const value = Number(bare);
  if (!NUMBER.test(bare) || !Number.isFinite(value)) {
    return { ok: false, code: 'not-a-number', message: 'This is not a number.' };
  }
  return { ok: true, value };
}
