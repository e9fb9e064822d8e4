import { describe, expect, it } from 'vitest';
import { codeOf, cookieOf, PASSPHRASE, startPost } from './access-post.ts';

describe('a login', () => {
  it('gives a session for 24 hours that no script can read, and ends when the person leaves', async () => {
    const post = await startPost();
    await post.access.addAccount({ name: 'Ann', role: 'officer', passphrase: PASSPHRASE });
    const answer = await post.ask('POST', '/api/v1/session', {
      body: { name: 'ann', passphrase: PASSPHRASE },
    });
    expect(answer).toMatchObject({
      status: 200,
      body: { name: 'Ann', role: 'officer', expiresAt: '2026-05-15T00:00:00.000Z' },
    });
    expect(answer.headers['set-cookie']).toEqual([
      expect.stringMatching(/^upwind_session=[\w-]{43}; Path=\/; Max-Age=86400; HttpOnly; SameSite=Strict$/),
    ]);
    const headers = { cookie: cookieOf(answer) };
    expect((await post.ask('GET', '/api/v1/session', { headers })).body).toMatchObject({
      name: 'Ann',
      role: 'officer',
      by: 'session',
    });
    const ended: string[] = [];
    post.access.onRevoked((id) => ended.push(id));
    const id = post.access.identify(headers)?.id;
    const left = await post.ask('DELETE', '/api/v1/session', { headers });
    expect(left.status).toBe(204);
    expect(left.headers['set-cookie']).toEqual([expect.stringContaining('Max-Age=0')]);
    expect(ended).toEqual([id]);
    expect((await post.ask('GET', '/api/v1/session', { headers })).status).toBe(401);
    expect((await post.ask('GET', '/api/v1/board', { headers })).status).toBe(401);
  });

  it('is Secure over TLS', async () => {
    const post = await startPost({ secure: true });
    await post.access.addAccount({ name: 'Ann', role: 'officer', passphrase: PASSPHRASE });
    const answer = await post.ask('POST', '/api/v1/session', {
      body: { name: 'Ann', passphrase: PASSPHRASE },
    });
    expect(answer.headers['set-cookie']).toEqual([expect.stringMatching(/; Secure$/)]);
  });

  it('is kept as a hash only', async () => {
    const post = await startPost();
    const secret = (await post.loginAs('officer')).split('=')[1] ?? '';
    const stored =
      post.db.prepare('SELECT hex(token_hash) FROM session').pluck().all().join() +
      post.db.prepare('SELECT passphrase FROM account').pluck().all().join();
    expect(stored).not.toContain(Buffer.from(secret).toString('hex').toUpperCase());
    expect(stored).not.toContain(PASSPHRASE);
  });

  it('ends by time, and that is announced', async () => {
    const post = await startPost();
    const headers = { cookie: await post.loginAs('officer') };
    const id = post.access.identify(headers)?.id;
    const ended: string[] = [];
    post.access.onRevoked((gone) => ended.push(gone));
    post.clock.now += 24 * 3_600_000 - 1;
    post.access.flush();
    expect(post.access.identify(headers)).not.toBeNull();
    post.clock.now += 1;
    post.access.flush();
    expect(ended).toEqual([id]);
    expect(post.access.identify(headers)).toBeNull();
  });

  it('of a disabled account ends at once and cannot be made again', async () => {
    const post = await startPost();
    const headers = { cookie: await post.loginAs('officer') };
    expect(post.access.identify(headers)).not.toBeNull();
    expect(post.access.disableAccount('officer')).toEqual({ ok: true });
    expect(post.access.identify(headers)).toBeNull();
    const again = await post.ask('POST', '/api/v1/session', {
      body: { name: 'officer', passphrase: PASSPHRASE },
    });
    expect(codeOf(again)).toBe('wrong');
  });

  it('says the same for a wrong name and a wrong passphrase, and slows guessing down without shutting out', async () => {
    const post = await startPost();
    await post.access.addAccount({ name: 'Ann', role: 'officer', passphrase: PASSPHRASE });
    const login = (name: string, passphrase: string) =>
      post.ask('POST', '/api/v1/session', { body: { name, passphrase } });
    const wrong = await login('Ann', 'wrong horse battery');
    expect((await login('Bob', 'wrong horse battery')).body).toEqual(wrong.body);
    expect(wrong.status).toBe(401);
    for (let i = 0; i < 4; i += 1) await login('Ann', 'wrong horse battery');
    const waits = await login('ANN ', PASSPHRASE);
    expect(waits).toMatchObject({ status: 429, headers: { 'retry-after': '1' } });
    expect(codeOf(waits)).toBe('wait');
    post.clock.now += 1000;
    expect((await login('Ann', PASSPHRASE)).status).toBe(200);
  });

  it('takes as long for an unknown name as for a known one', async () => {
    const post = await startPost();
    await post.access.addAccount({ name: 'Ann', role: 'officer', passphrase: PASSPHRASE });
    const quickest = async (name: string) => {
      const tookMs: number[] = [];
      for (let i = 0; i < 3; i += 1) {
        const startMs = performance.now();
        await post.access.login({ name, passphrase: 'wrong horse battery', address: `${i}` });
        tookMs.push(performance.now() - startMs);
      }
      return Math.min(...tookMs);
    };
    const knownMs = await quickest('Ann');
    // Without the stretching it takes a thousandth; a busy machine does not make it four times quicker.
    expect(await quickest('Bob')).toBeGreaterThan(knownMs / 4);
  });

  it('refuses what is no login', async () => {
    const post = await startPost();
    for (const body of [
      {},
      { name: 'Ann' },
      [],
      { name: '', passphrase: 'x' },
      { name: 'A', passphrase: 'x'.repeat(1025) },
    ]) {
      expect((await post.ask('POST', '/api/v1/session', { body })).status).toBe(400);
    }
  });
});

describe('a page of another site', () => {
  it('can change nothing with the visitor’s cookie', async () => {
    const post = await startPost();
    const cookie = await post.loginAs('commander');
    const change = (headers: Record<string, string>, body: unknown = {}) =>
      post.ask('POST', '/test/govern', { headers: { cookie, ...headers }, body });
    expect((await change({})).status).toBe(200);
    expect((await change({ origin: post.origin })).status).toBe(200);
    for (const origin of ['http://evil.example', 'null', post.origin.replace('http', 'https'), `${post.origin}0`]) {
      expect(codeOf(await change({ origin }))).toBe('origin');
    }
    expect(codeOf(await change({ 'sec-fetch-site': 'cross-site' }))).toBe('origin');
    expect(codeOf(await change({ 'content-type': 'text/plain' }, '{}'))).toBe('content-type');
    expect(
      (await post.ask('DELETE', '/api/v1/session', { headers: { cookie, origin: 'http://evil.example' } })).status,
    ).toBe(403);
    expect((await change({})).status).toBe(200);
  });

  it('cannot log a visitor in', async () => {
    const post = await startPost();
    await post.access.addAccount({ name: 'Ann', role: 'officer', passphrase: PASSPHRASE });
    const body = { name: 'Ann', passphrase: PASSPHRASE };
    expect(
      codeOf(await post.ask('POST', '/api/v1/session', { headers: { origin: 'http://evil.example' }, body })),
    ).toBe('origin');
  });
});
