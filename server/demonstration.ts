/** Plays the demonstration scenario into an exercise of the post, through the same protocol that relays use. */
import { randomUUID } from 'node:crypto';
import type { Logger } from 'pino';
import type { CommandRequest } from '../shared/protocol/commands.ts';
import type { Access } from './access/access.ts';
import type { Identity } from './access/identity.ts';
import { demonstrationScenario } from './simulator/scenario.ts';
import { runSimulation } from './simulator/send.ts';
import type { Post } from './watch/post.ts';

const SEED = 9;
const CONTROLLER: Identity = { name: 'demonstration', role: 'commander', by: 'session', id: 'demonstration' };

/** Begins to play; returns how to end it. */
export async function playDemonstration(options: {
  url: string;
  post: Post;
  access: Access;
  log: Logger;
}): Promise<() => Promise<void>> {
  const { url, post, access, log } = options;
  const scenario = demonstrationScenario();
  const order = (request: CommandRequest) => post.takeCommand(CONTROLLER, request);
  if (post.watch.state().journal?.purpose === 'standby') {
    await order({ id: randomUUID(), type: 'incident-open', name: scenario.name, exercise: true });
  }
  const tokens = new Map<string, string>();
  const tokenFor = (relay: string): string => {
    const known = tokens.get(relay);
    if (known !== undefined) return known;
    const inUse = access.listTokens().find((row) => row.name === relay && row.revokedAtMs === null);
    if (inUse !== undefined) access.revokeToken(inUse.id);
    const made = access.addToken({ name: relay, role: 'relay' });
    if (!made.ok) throw new Error(made.message);
    tokens.set(relay, made.token);
    return made.token;
  };
  const ending = new AbortController();
  const playing = runSimulation({
    url,
    tokenFor,
    scenario,
    seed: SEED,
    signal: ending.signal,
    onCommand: async ({ atMs: _, ...command }) => {
      await order({ id: randomUUID(), ...command });
    },
  }).catch((error: unknown) => {
    if (!ending.signal.aborted) log.error({ err: error }, 'the demonstration ended');
  });
  return async () => {
    ending.abort();
    await playing;
  };
}
