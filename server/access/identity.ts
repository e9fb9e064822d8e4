/** Who asks, and the shapes of the answers about access. */
import type { Role, StaffRole } from '../../shared/protocol/access.ts';

/** `id` names the session, token or wall screen, not the person: it is what a revocation is announced by. */
export type Identity = Readonly<{
  name: string;
  role: Role;
  by: 'session' | 'token' | 'wall' | 'demo';
  id: string;
}>;

/** A request's headers, as far as they say who asks. */
export type Credentials = {
  readonly cookie?: string | undefined;
  readonly authorization?: string | undefined;
};

export type Refusal<Code extends string> = { ok: false; code: Code; message: string };
export type NewSession = { secret: string; name: string; role: StaffRole; expiresAtMs: number };

const CONTROL = /\p{C}/u;

/** A name for an account, token or screen as it is kept, or null: 1 to 64 characters, none of them invisible. */
export function cleanName(name: string): string | null {
  const clean = name.normalize('NFC').trim();
  return clean.length >= 1 && clean.length <= 64 && !CONTROL.test(clean) ? clean : null;
}

export const BAD_NAME: Refusal<'name-invalid'> = {
  ok: false,
  code: 'name-invalid',
  message: 'a name has 1 to 64 characters, none of them invisible',
};
