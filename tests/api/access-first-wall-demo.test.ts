import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { createAccess } from '../../server/access/access.ts';
import { codeOf, cookieOf, PASSPHRASE, startPost } from './access-post.ts';

describe('the first start', () => {
  it('offers one code, which makes one commander', async () => {
    const post = await startPost();
    const code = post.access.firstCode();
    expect(code).toMatch(/^[\w-]{43}$/);
    expect(post.access.firstCode()).toBe(code);
    expect((await post.ask('GET', '/api/v1/session')).body).toMatchObject({ firstStart: true });
    const first = (body: unknown) => post.ask('POST', '/api/v1/first', { body });
    expect(codeOf(await first({ code: 'wrong', name: 'Eve', passphrase: PASSPHRASE }))).toBe('code');
    expect(codeOf(await first({ code, name: 'Ann', passphrase: 'short' }))).toBe('passphrase-invalid');
    const [one, two] = await Promise.all([
      first({ code, name: 'Ann', passphrase: PASSPHRASE }),
      first({ code, name: 'Bob', passphrase: PASSPHRASE }),
    ]);
    expect([one.status, two.status].sort()).toEqual([200, 403]);
    const headers = { cookie: cookieOf(one.status === 200 ? one : two) };
    expect((await post.ask('POST', '/test/govern', { headers, body: {} })).status).toBe(200);
    expect(codeOf(await first({ code, name: 'Cid', passphrase: PASSPHRASE }))).toBe('code');
    expect(post.access.listAccounts()).toHaveLength(1);
    expect(post.access.firstCode()).toBeNull();
  });

  it('offers nothing once a commander was made another way', async () => {
    const post = await startPost();
    const code = post.access.firstCode();
    await post.access.addAccount({ name: 'Ann', role: 'commander', passphrase: PASSPHRASE });
    const late = await post.ask('POST', '/api/v1/first', {
      body: { code, name: 'Bob', passphrase: PASSPHRASE },
    });
    expect(codeOf(late)).toBe('code');
  });
});

describe('a wall screen', () => {
  it('is paired by an officer with a code that works once, looks for years, and ends when revoked', async () => {
    const post = await startPost();
    const officer = { cookie: await post.loginAs('officer') };
    const paired = await post.ask('POST', '/api/v1/wall/pair', { headers: officer, body: { name: 'Tent' } });
    const body = z.object({ code: z.string(), expiresAt: z.string() }).parse(paired.body);
    expect(body.expiresAt).toBe('2026-05-14T00:05:00.000Z');
    const typed = body.code.toLowerCase().replace(/(.{4})/, '$1 ');
    const made = await post.ask('POST', '/api/v1/wall', { body: { code: typed } });
    expect(made.headers['set-cookie']).toEqual([
      expect.stringMatching(/^upwind_wall=[\w-]+; Path=\/; Max-Age=315360000; HttpOnly; SameSite=Strict$/),
    ]);
    expect(codeOf(await post.ask('POST', '/api/v1/wall', { body: { code: body.code } }))).toBe('code');
    const wall = { cookie: cookieOf(made) };
    post.clock.now += 9 * 365 * 86_400_000;
    expect((await post.ask('GET', '/api/v1/board', { headers: wall })).status).toBe(200);
    expect((await post.ask('POST', '/test/evacuate', { headers: wall, body: {} })).status).toBe(403);
    // A screen's secret is no token for a program.
    const bearer = { authorization: `Bearer ${wall.cookie.split('=')[1]}` };
    expect((await post.ask('GET', '/api/v1/board', { headers: bearer })).status).toBe(401);

    const again = {
      cookie: cookieOf(
        await post.ask('POST', '/api/v1/session', { body: { name: 'officer', passphrase: PASSPHRASE } }),
      ),
    };
    const listed = await post.ask('GET', '/api/v1/wall', { headers: again });
    expect(listed.body).toMatchObject({ walls: [{ name: 'Tent' }] });
    const { id } = z.object({ walls: z.tuple([z.object({ id: z.string() })]) }).parse(listed.body).walls[0];
    expect((await post.ask('DELETE', `/api/v1/wall/${id}`, { headers: again })).status).toBe(204);
    expect((await post.ask('DELETE', `/api/v1/wall/${id}`, { headers: again })).status).toBe(404);
    expect((await post.ask('GET', '/api/v1/board', { headers: wall })).status).toBe(401);
  });

  it('is not paired by a viewer, by an old code, or by guessing', async () => {
    const post = await startPost();
    const viewer = { cookie: await post.loginAs('viewer') };
    expect((await post.ask('POST', '/api/v1/wall/pair', { headers: viewer, body: {} })).status).toBe(403);
    const { code } = post.access.pairWall({ name: 'Tent' });
    post.clock.now += 5 * 60_000;
    expect(codeOf(await post.ask('POST', '/api/v1/wall', { body: { code } }))).toBe('code');
    const codes: unknown[] = [];
    for (let i = 0; i < 5; i += 1)
      codes.push(codeOf(await post.ask('POST', '/api/v1/wall', { body: { code: `AAAA${i}` } })));
    expect(codes).toEqual(['code', 'code', 'code', 'code', 'wait']);
  });
});

describe('the demonstration', () => {
  it('is open to look at, and to act in after one click', async () => {
    const post = await startPost({ open: true });
    expect((await post.ask('GET', '/api/v1/board')).status).toBe(200);
    expect((await post.ask('GET', '/api/v1/session')).body).toMatchObject({
      role: 'viewer',
      by: 'demo',
      demo: true,
    });
    expect((await post.ask('POST', '/test/evacuate', { body: {} })).status).toBe(401);
    expect((await post.ask('POST', '/api/v1/packets', { body: {} })).status).toBe(401);
    const acts = await post.ask('POST', '/api/v1/session/demo', {
      headers: { origin: post.origin },
      body: {},
    });
    expect(acts).toMatchObject({ status: 200, body: { role: 'commander' } });
    expect((await post.ask('POST', '/test/govern', { headers: { cookie: cookieOf(acts) }, body: {} })).status).toBe(
      200,
    );
  });

  it('is closed to a name of somebody else’s that points here, and to a wrong token', async () => {
    const post = await startPost({ open: true });
    const headers = { host: 'evil.example' };
    expect((await post.ask('GET', '/api/v1/board', { headers })).status).toBe(401);
    expect((await post.ask('POST', '/api/v1/session/demo', { headers, body: {} })).status).toBe(403);
    expect((await post.ask('GET', '/api/v1/board', { headers: { authorization: 'Bearer uw_wrong' } })).status).toBe(
      401,
    );
  });

  it('gives no way in to a real post', async () => {
    const demo = await startPost({ open: true });
    const acts = cookieOf(await demo.ask('POST', '/api/v1/session/demo', { body: {} }));
    const real = createAccess({ db: demo.db, clock: demo.clock, secure: false });
    expect(demo.access.identify({ cookie: acts })).not.toBeNull();
    expect(real.identify({ cookie: acts })).toBeNull();
    expect(real.firstCode()).not.toBeNull();
    expect(() => real.demoSession()).toThrow('not a demonstration');
    expect((await real.login({ name: 'Demonstration commander', passphrase: '!demo', address: 'x' })).ok).toBe(false);
    const post = await startPost();
    expect((await post.ask('POST', '/api/v1/session/demo', { body: {} })).status).toBe(404);
    expect((await post.ask('GET', '/api/v1/board')).status).toBe(401);
  });
});
