import { describe, expect, it } from 'vitest';
import type { Act } from '../../shared/protocol/access.ts';
import { codeOf, cookieOf, startPost } from './access-post.ts';

/** The roles as the project's description of them reads; written out, so that the code cannot agree with itself. */
const MATRIX: Readonly<Record<string, readonly Act[]>> = {
  nobody: [],
  'wrong token': [],
  relay: ['post-packets'],
  'viewer token': ['look'],
  wall: ['look'],
  viewer: ['look'],
  entry: ['look', 'type-for-teams', 'evacuate'],
  officer: ['look', 'type-for-teams', 'command', 'evacuate'],
  commander: ['look', 'type-for-teams', 'command', 'govern', 'evacuate'],
};
const ROUTES: Readonly<Record<Act, readonly [string, string]>> = {
  look: ['GET', '/api/v1/board'],
  'post-packets': ['POST', '/api/v1/packets'],
  'type-for-teams': ['POST', '/test/type-for-teams'],
  command: ['POST', '/test/command'],
  govern: ['POST', '/test/govern'],
  evacuate: ['POST', '/test/evacuate'],
};

describe('what each may do', () => {
  it('is what the table says, for everybody and every act', async () => {
    const post = await startPost();
    const bearer = (name: string, role: 'relay' | 'viewer') => {
      const made = post.access.addToken({ name, role });
      if (!made.ok) throw new Error(made.message);
      return { authorization: `Bearer ${made.token}` };
    };
    const { code } = post.access.pairWall({ name: 'Wall' });
    const who: Record<string, Record<string, string>> = {
      nobody: {},
      'wrong token': { authorization: 'Bearer uw_wrong' },
      relay: bearer('R1', 'relay'),
      'viewer token': bearer('V1', 'viewer'),
      wall: { cookie: cookieOf(await post.ask('POST', '/api/v1/wall', { body: { code } })) },
      viewer: { cookie: await post.loginAs('viewer') },
      entry: { cookie: await post.loginAs('entry') },
      officer: { cookie: await post.loginAs('officer') },
      commander: { cookie: await post.loginAs('commander') },
    };
    const found: Record<string, string[]> = {};
    for (const [name, headers] of Object.entries(who)) {
      found[name] = [];
      for (const [act, [method, path]] of Object.entries(ROUTES)) {
        const answer = await post.ask(method, path, { headers, ...(method === 'POST' && { body: {} }) });
        const known = name !== 'nobody' && name !== 'wrong token';
        if (answer.status === 200) found[name].push(act);
        else
          expect([name, act, answer.status, codeOf(answer)]).toEqual(
            known ? [name, act, 403, 'forbidden'] : [name, act, 401, 'unauthenticated'],
          );
      }
    }
    expect(found).toEqual(MATRIX);
  });
});

describe('tokens', () => {
  it('are judged alone: a wrong one is not helped by a good cookie', async () => {
    const post = await startPost();
    const cookie = await post.loginAs('commander');
    for (const authorization of ['Bearer uw_wrong', 'Bearer', 'Basic dTpw', '']) {
      expect((await post.ask('GET', '/api/v1/board', { headers: { cookie, authorization } })).status).toBe(401);
    }
  });

  it('end at once when revoked, and that is announced', async () => {
    const post = await startPost();
    const made = post.access.addToken({ name: 'R1', role: 'relay' });
    if (!made.ok) throw new Error(made.message);
    const headers = { authorization: `bearer ${made.token}` };
    const ended: string[] = [];
    const stop = post.access.onRevoked((id) => ended.push(id));
    expect((await post.ask('POST', '/api/v1/packets', { headers, body: {} })).status).toBe(200);
    expect(post.access.revokeToken(made.id)).toEqual({ ok: true });
    expect((await post.ask('POST', '/api/v1/packets', { headers, body: {} })).status).toBe(401);
    expect(post.access.revokeToken(made.id)).toMatchObject({ ok: false, code: 'unknown' });
    stop();
    expect(ended).toEqual([made.id]);
  });

  it('are kept as a hash; when they were last used is written by the minute, not by the packet', async () => {
    const post = await startPost();
    const made = post.access.addToken({ name: 'R1', role: 'relay' });
    if (!made.ok) throw new Error(made.message);
    const row = () => post.access.listTokens()[0];
    const before = post.db.prepare('SELECT total_changes()').pluck().get();
    for (let i = 0; i < 100; i += 1) post.access.identify({ authorization: `Bearer ${made.token}` });
    expect(post.db.prepare('SELECT total_changes()').pluck().get()).toBe(before);
    expect(row()?.lastUsedAtMs).toBeNull();
    post.clock.now += 60_000;
    post.access.flush();
    expect(row()?.lastUsedAtMs).toBe(post.clock.now);
    post.access.flush();
    expect(post.db.prepare('SELECT total_changes()').pluck().get()).toBe(Number(before) + 1);
    expect(JSON.stringify(post.db.prepare('SELECT * FROM token').all())).not.toContain(made.token);
  });

  it('need a name that can be read', async () => {
    const post = await startPost();
    for (const name of ['', '   ', 'a\nb', 'x'.repeat(65), '\u202eR1']) {
      expect(post.access.addToken({ name, role: 'relay' })).toMatchObject({
        ok: false,
        code: 'name-invalid',
      });
    }
  });
});
