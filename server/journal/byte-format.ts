/** What the byte writer and the byte reader have to agree on. Numbers here are in files: never change one. */

/** Exponents 0 to 6 of a decimal. */
export const POWERS_OF_TEN = [1, 10, 100, 1e3, 1e4, 1e5, 1e6] as const;
/** In place of an exponent: the eight bytes of the double follow. */
export const RAW_EXPONENT = 7;
/** Tag of a time that lies on a whole second. */
export const WHOLE_SECONDS = 1;
/** Tag of a time that follows as a double. */
export const RAW_TIME = 2;
/** Low bit of a text's length: UTF-16 little-endian instead of UTF-8. */
export const UTF16 = 1;
