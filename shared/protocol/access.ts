/** Roles and what each may do: the one table that the server asks and the page reads. */
import { z } from 'zod';

export const role = z.enum(['viewer', 'relay', 'entry', 'officer', 'commander']);
export type Role = z.infer<typeof role>;

/** Roles that a person can have. A relay is a token, never a login. */
export const staffRole = z.enum(['viewer', 'entry', 'officer', 'commander']);
export type StaffRole = z.infer<typeof staffRole>;

/** What can be asked of the server beside looking. */
export type Act = 'look' | 'post-packets' | 'type-for-teams' | 'command' | 'govern' | 'evacuate';

/**
 * looks: everyone but a relay. type-for-teams: readings, PAR, air, motion. command: acknowledge, reset, shelve,
 * draw, set-points. govern: open and close incidents, accounts, persons' records.
 */
const MAY: Readonly<Record<Role, readonly Act[]>> = {
  viewer: ['look'],
  relay: ['post-packets'],
  entry: ['look', 'type-for-teams', 'evacuate'],
  officer: ['look', 'type-for-teams', 'command', 'evacuate'],
  commander: ['look', 'type-for-teams', 'command', 'govern', 'evacuate'],
};

/** Whether `role` may do `act`; what is not listed is refused. */
export function may(role: Role, act: Act): boolean {
  return MAY[role].includes(act);
}

export const sessionRequest = z.object({
  name: z.string().min(1).max(64),
  passphrase: z.string().min(1).max(1024),
});
export const sessionAnswer = z.object({ name: z.string(), role: staffRole, expiresAt: z.string() });
export type SessionAnswer = z.infer<typeof sessionAnswer>;
