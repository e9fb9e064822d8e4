import { describe, expect, it } from 'vitest';
import { readCookie, writeCookie } from '../../server/access/cookies.ts';
import { isLoopbackHost, isOwnOrigin, mayChange } from '../../server/access/origin.ts';
import { checkPassphrase, hashPassphrase } from '../../server/access/passphrase.ts';
import { digest, matches, newReadableCode, newSecret, normaliseCode } from '../../server/access/secrets.ts';

describe('passphrases', () => {
  it('are stored with the cost they were stretched by, and fit only themselves', async () => {
    const stored = await hashPassphrase('correct horse battery');
    expect(stored).toMatch(/^scrypt\$32768\$8\$1\$[\w-]{22}\$[\w-]{43}$/);
    expect(await checkPassphrase('correct horse battery', stored)).toBe(true);
    expect(await checkPassphrase('correct horse batterz', stored)).toBe(false);
    expect(await hashPassphrase('correct horse battery')).not.toBe(stored);
  });

  it('fit however a keyboard composes their letters', async () => {
    // Unicode UAX #15: e with acute accent, composed and decomposed, are the same text.
    const stored = await hashPassphrase('caf\u00e9 caf\u00e9');
    expect(await checkPassphrase('cafe\u0301 cafe\u0301', stored)).toBe(true);
  });

  it('are checked by the parameters that are stored', async () => {
    // RFC 7914 section 12, third vector; its 64 bytes begin with the 32 that are kept here.
    const key = Buffer.from('7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2', 'hex').toString(
      'base64url',
    );
    const salt = Buffer.from('SodiumChloride').toString('base64url');
    expect(await checkPassphrase('pleaseletmein', `scrypt$16384$8$1$${salt}$${key}`)).toBe(true);
  });

  it('never fit a text that is no hash', async () => {
    for (const stored of ['', '!demo', 'scrypt$32768$8$1$$']) expect(await checkPassphrase('', stored)).toBe(false);
  });
});

describe('secrets', () => {
  it('are stored as SHA-256', () => {
    // FIPS 180-4, the example of "abc".
    expect(digest('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
    expect(matches('abc', digest('abc'))).toBe(true);
    expect(matches('abd', digest('abc'))).toBe(false);
  });

  it('carry 256 bits', () => expect(newSecret('uw_')).toMatch(/^uw_[\w-]{43}$/));

  it('are typed as a person types them', () => {
    const code = newReadableCode();
    expect(code).toMatch(/^[2-9A-HJKMNP-Z]{8}$/);
    expect(normaliseCode(` ${code.slice(0, 4).toLowerCase()}-${code.slice(4)} `)).toBe(code);
  });
});

describe('cookies', () => {
  it('are found by their whole name', () => {
    expect(readCookie('a=1; upwind_session=xyz; b=2', 'upwind_session')).toBe('xyz');
    expect(readCookie('xupwind_session=xyz', 'upwind_session')).toBeNull();
    expect(readCookie('upwind_session=', 'upwind_session')).toBeNull();
    expect(readCookie('upwind_session', 'upwind_session')).toBeNull();
  });

  it('stay with the post and away from scripts', () => {
    expect(writeCookie('n', 'v', { maxAgeS: 5, secure: true })).toBe(
      'n=v; Path=/; Max-Age=5; HttpOnly; SameSite=Strict; Secure',
    );
    expect(writeCookie('n', 'v', { maxAgeS: 0, secure: false })).toBe(
      'n=v; Path=/; Max-Age=0; HttpOnly; SameSite=Strict',
    );
  });
});

describe('origins', () => {
  const rules = { secure: false, allowedOrigins: ['https://post.example'] };

  it('are the own one only when scheme, host and port are', () => {
    expect(isOwnOrigin('http://10.0.0.2:8080', '10.0.0.2:8080', rules)).toBe(true);
    expect(isOwnOrigin('https://post.example', 'localhost:8080', rules)).toBe(true);
    const foreign = [
      'https://10.0.0.2:8080',
      'http://10.0.0.2',
      'http://10.0.0.2:80801',
      'http://evil.example',
      'null',
      '',
    ];
    for (const origin of foreign) expect(isOwnOrigin(origin, '10.0.0.2:8080', rules)).toBe(false);
    expect(isOwnOrigin('http://undefined', undefined, rules)).toBe(false);
  });

  it('are not asked of programs, but a browser that says cross-site is refused', () => {
    expect(mayChange({ host: 'a' }, rules)).toBe(true);
    expect(mayChange({ host: 'a', 'sec-fetch-site': 'same-origin' }, rules)).toBe(true);
    expect(mayChange({ host: 'a', 'sec-fetch-site': 'cross-site' }, rules)).toBe(false);
    expect(mayChange({ host: 'a', origin: 'http://b' }, rules)).toBe(false);
  });

  it('count as loopback by the name that was asked, not by where it points', () => {
    for (const host of ['127.0.0.1:8080', 'localhost', '[::1]:8080']) expect(isLoopbackHost(host)).toBe(true);
    for (const host of ['evil.example:8080', '127.0.0.1.evil.example', '', undefined])
      expect(isLoopbackHost(host)).toBe(false);
  });
});
