/** The post's list of wall screens, pairing codes, and how long one is still good. */
import { z } from 'zod';
import { ask, type PostAnswer } from '../access/post.ts';

const wall = z.object({
  id: z.string(),
  name: z.string(),
  createdAt: z.string().nullable(),
  lastUsedAt: z.string().nullable(),
});
export type Wall = z.infer<typeof wall>;

/** A code that is being shown; `goodUntilMs` by this page's own steady clock (performance.now()). */
export type Code = { readonly code: string; readonly name: string; readonly goodUntilMs: number };

/** A pairing code is good for five minutes. */
export const CODE_LASTS_MS = 5 * 60_000;

export function listWalls(): Promise<PostAnswer<{ walls: Wall[] }>> {
  return ask('GET', '/api/v1/wall', undefined, z.object({ walls: z.array(wall) }));
}

export function makeCode(name: string): Promise<PostAnswer<{ code: string; expiresAt: string }>> {
  return ask('POST', '/api/v1/wall/pair', { name }, z.object({ code: z.string(), expiresAt: z.string() }));
}

export function revokeWall(id: string): Promise<PostAnswer<unknown>> {
  return ask('DELETE', `/api/v1/wall/${encodeURIComponent(id)}`, undefined, z.null());
}

/** How long a code that was asked for at `askedMs` is good, ms by the same clock: never promised longer than it is. */
export function goodUntil(askedMs: number): number {
  return askedMs + CODE_LASTS_MS;
}

/** "4:59"; "0:00" when it is over. */
export function leftWords(goodUntilMs: number, nowMs: number): string {
  const seconds = Math.max(0, Math.ceil((goodUntilMs - nowMs) / 1000));
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
}

/** In two groups, for reading out; spaces do not count when it is typed. */
export function spacedCode(code: string): string {
  return code.length === 8 ? `${code.slice(0, 4)} ${code.slice(4)}` : code;
}
