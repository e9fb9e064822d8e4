/** One control that acts: what is under way, and what came of the last try. */
import { type ReadonlySignal, useSignal } from '@preact/signals';
import { useMemo } from 'preact/hooks';
import type { CommandAnswer } from '../../shared/protocol/commands.ts';
import { newId } from '../access/post.ts';
import { sendCommand } from '../access/send-command.ts';
import { type CommandBody, createSender } from './sender.ts';

export type Told = { readonly answer: CommandAnswer; readonly done: string };
export type Act = {
  readonly busy: ReadonlySignal<boolean>;
  readonly told: ReadonlySignal<Told | null>;
  /** Sends it; `done` is said when it was done. Null where one is under way. */
  send(body: CommandBody, done: string): Promise<CommandAnswer | null>;
  /** Forgets what was said. */
  clear(): void;
};

export function useAct(): Act {
  const busy = useSignal(false);
  const told = useSignal<Told | null>(null);
  return useMemo(() => {
    const sender = createSender(sendCommand, newId);
    return {
      busy,
      told,
      async send(body, done) {
        const answering = sender.send(body);
        if (answering === null) return null;
        busy.value = true;
        told.value = null;
        const answer = await answering.finally(() => {
          busy.value = false;
        });
        told.value = { answer, done };
        return answer;
      },
      clear() {
        told.value = null;
      },
    };
  }, [busy, told]);
}
