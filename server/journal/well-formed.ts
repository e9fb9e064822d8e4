/** False where a string holds half a surrogate pair, for instance because it was cut: UTF-8 cannot carry that. */
export function isWellFormed(text: string): boolean {
  return !/\p{Surrogate}/u.test(text);
}
