/** Who looks at this page, and what they may ask for. */
import { type ReadonlySignal, signal } from '@preact/signals';
import { z } from 'zod';
import { type Act, may, sessionAnswer, staffRole } from '../../shared/protocol/access.ts';
import { ask, type PostAnswer } from './post.ts';

const who = z.object({
  name: z.string(),
  role: staffRole,
  /** `demo`: nobody logged in, the demonstration lets everybody look. */
  by: z.enum(['session', 'token', 'wall', 'demo']),
  demo: z.boolean().optional(),
});
export type Session = z.infer<typeof who>;

const current = signal<Session | null>(null);
/** Null until the post has said who this is. */
export const session: ReadonlySignal<Session | null> = current;

/** Asks who this is. Status 401: nobody, a login is needed. */
export async function refreshSession(): Promise<PostAnswer<Session>> {
  const answer = await ask('GET', '/api/v1/session', undefined, who);
  if (answer.ok) current.value = answer.value;
  else if (answer.status === 401) current.value = null;
  return answer;
}

/** Logs in and learns the role. */
export async function login(name: string, passphrase: string): Promise<PostAnswer<unknown>> {
  return settled(await ask('POST', '/api/v1/session', { name, passphrase }, sessionAnswer));
}

/** Makes the first commander of a new post with the code that it printed. */
export async function claimFirst(code: string, name: string, passphrase: string): Promise<PostAnswer<unknown>> {
  return settled(await ask('POST', '/api/v1/first', { code, name, passphrase }, sessionAnswer));
}

/** Takes the commander's part in a demonstration; a real post refuses it. */
export async function actInDemonstration(): Promise<PostAnswer<unknown>> {
  return settled(await ask('POST', '/api/v1/session/demo', {}, sessionAnswer));
}

/** Pairs this screen as a wall screen, which can look and nothing else. */
export async function pairWall(code: string): Promise<PostAnswer<unknown>> {
  return settled(await ask('POST', '/api/v1/wall', { code }, z.object({ role: staffRole })));
}

/** Leaves; the page then shows nothing of the board. */
export async function leave(): Promise<PostAnswer<unknown>> {
  const answer = await ask('DELETE', '/api/v1/session', undefined, z.null());
  if (answer.ok) current.value = null;
  return answer;
}

/** Whether the person at this page may do `act`. Without a session: nothing. */
export function mayNow(act: Act): boolean {
  const is = current.value;
  return is !== null && (is.by === 'session' || act === 'look') && may(is.role, act);
}

async function settled(answer: PostAnswer<unknown>): Promise<PostAnswer<unknown>> {
  if (answer.ok) await refreshSession();
  return answer;
}
