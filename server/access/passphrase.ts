/**
 * Passphrases of people, stretched with scrypt (RFC 7914) and stored with the parameters, so that a later build
 * can raise the cost and still check what is stored. One check costs about 0.1 s and 32 MiB; see gate.ts for how
 * many may run at once.
 */
import { randomBytes, type ScryptOptions, scrypt, timingSafeEqual } from 'node:crypto';

const COST = { N: 2 ** 15, r: 8, p: 1 } as const;
const SALT_BYTES = 16;
const KEY_BYTES = 32;
/** NIST SP 800-63B (revision 3) 5.1.1.2: at least 8 characters. */
export const PASSPHRASE_LEAST = 8;
export const PASSPHRASE_MOST = 1024;
const STORED = /^scrypt\$(\d{1,7})\$(\d{1,2})\$(\d{1,2})\$([\w-]{16,64})\$([\w-]{43})$/;

/** The text to store for `passphrase`. */
export async function hashPassphrase(passphrase: string): Promise<string> {
  const salt = randomBytes(SALT_BYTES);
  const key = await derive(passphrase, salt, COST);
  return `scrypt$${COST.N}$${COST.r}$${COST.p}$${salt.toString('base64url')}$${key.toString('base64url')}`;
}

/** Whether `passphrase` is the one `stored` was made from; false for a stored text of another form. */
export async function checkPassphrase(passphrase: string, stored: string): Promise<boolean> {
  const [, n, r, p, salt, key] = STORED.exec(stored) ?? [];
  if (salt === undefined || key === undefined) return false;
  const cost = { N: Number(n), r: Number(r), p: Number(p) };
  const found = await derive(passphrase, Buffer.from(salt, 'base64url'), cost);
  return timingSafeEqual(found, Buffer.from(key, 'base64url'));
}

function derive(passphrase: string, salt: Buffer, cost: { N: number; r: number; p: number }): Promise<Buffer> {
  // scrypt needs 128·N·r bytes; Node's own limit is exactly that for our cost, and then refuses.
  const options: ScryptOptions = { ...cost, maxmem: 256 * cost.N * cost.r };
  // One person types the same letters on different keyboards: NFKC, as SP 800-63B 5.1.1.2 asks.
  const text = passphrase.normalize('NFKC');
  return new Promise((resolve, reject) => {
    scrypt(text, salt, KEY_BYTES, options, (error, key) => (error ? reject(error) : resolve(key)));
  });
}
