import { describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import { cookieOf, startPost } from './access-post.ts';

/** What opening the socket comes to: the first frame, or the status of the refusal. */
function open(url: string, headers: Record<string, string>): Promise<string | number> {
  return new Promise((resolve, reject) => {
    const socket = new WebSocket(url, { headers });
    socket.on('unexpected-response', (request, response) => {
      request.destroy();
      resolve(response.statusCode ?? 0);
    });
    socket.on('message', (data) => {
      resolve(String(data));
      socket.close();
    });
    socket.on('error', reject);
  });
}

describe('a WebSocket', () => {
  it('opens to a cookie only from a page of this post, and to a program’s token without one', async () => {
    const post = await startPost();
    const live = `ws://${post.host}/api/v1/live`;
    const cookie = await post.loginAs('viewer');
    const token = post.access.addToken({ name: 'V1', role: 'viewer' });
    if (!token.ok) throw new Error(token.message);
    const authorization = `Bearer ${token.token}`;
    const { code } = post.access.pairWall({ name: 'Wall' });
    const wall = cookieOf(await post.ask('POST', '/api/v1/wall', { body: { code } }));
    expect(await open(live, { cookie, origin: post.origin })).toBe('hello');
    expect(await open(live, { cookie: wall, origin: post.origin })).toBe('hello');
    expect(await open(live, { authorization })).toBe('hello');
    expect(await open(live, { cookie })).toBe(403);
    expect(await open(live, { cookie: wall })).toBe(403);
    expect(await open(live, { cookie, origin: 'http://evil.example' })).toBe(403);
    expect(await open(live, { authorization, origin: 'http://evil.example' })).toBe(403);
    expect(await open(live, { origin: post.origin })).toBe(401);
  });

  it('for packets opens to a relay’s token alone', async () => {
    const post = await startPost();
    const relay = `ws://${post.host}/api/v1/relay`;
    const made = post.access.addToken({ name: 'R1', role: 'relay' });
    if (!made.ok) throw new Error(made.message);
    expect(await open(relay, { authorization: `Bearer ${made.token}` })).toBe('hello');
    expect(await open(relay, { cookie: await post.loginAs('officer'), origin: post.origin })).toBe(403);
    expect(await open(relay, {})).toBe(401);
  });

  it('of the demonstration opens to look, and asks for a token to post packets', async () => {
    const post = await startPost({ open: true });
    expect(await open(`ws://${post.host}/api/v1/live`, { origin: post.origin })).toBe('hello');
    expect(await open(`ws://${post.host}/api/v1/live`, {})).toBe('hello');
    expect(await open(`ws://${post.host}/api/v1/live`, { origin: 'http://evil.example' })).toBe(403);
    expect(await open(`ws://${post.host}/api/v1/relay`, {})).toBe(401);
  });
});
