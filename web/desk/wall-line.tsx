/** One paired screen; ending it takes two presses, because a screen that people rely on goes dark. */
import { useSignal } from '@preact/signals';
import type { Store } from '../feed/store.ts';
import { dayTime } from '../monitor/day-time.ts';
import type { Outcome } from './outcome-words.ts';
import { PressButton, Words } from './said.tsx';
import { revokeWall, type Wall } from './wall-screens.ts';

type Props = { wall: Wall; store: Store; zone: string; onEnded: (outcome: Outcome) => void };

export function WallLine({ wall, store, zone, onEnded }: Props) {
  const asked = useSignal(false);
  const busy = useSignal(false);
  const refused = useSignal<Outcome | null>(null);

  async function end(): Promise<void> {
    if (busy.value) return;
    busy.value = true;
    const answer = await revokeWall(wall.id);
    busy.value = false;
    if (answer.ok) onEnded({ level: 'plain', words: `“${wall.name}” is no longer paired and shows nothing.` });
    else if (answer.status === 404) onEnded({ level: 'plain', words: `“${wall.name}” had been ended already.` });
    else refused.value = { level: 'caution', words: `Not known to be ended: ${answer.message}` };
  }

  const at = (time: string) => dayTime(time, zone, store.nowMs.value);
  return (
    <li>
      <p class="desk-person">
        <b>{wall.name}</b>{' '}
        <span class="soft">
          {wall.createdAt === null ? '' : `paired ${at(wall.createdAt)}`}
          {wall.lastUsedAt === null ? '' : `, last seen ${at(wall.lastUsedAt)}`}
        </span>
      </p>
      {asked.value ? (
        <div class="desk-apart">
          <PressButton
            off={false}
            busy={busy}
            onPress={() => {
              asked.value = false;
            }}
          >
            Back
          </PressButton>
          <PressButton main off={false} busy={busy} onPress={end}>
            {`Confirm: end “${wall.name}”`}
          </PressButton>
        </div>
      ) : (
        <PressButton
          off={false}
          onPress={() => {
            asked.value = true;
          }}
        >
          {`End “${wall.name}”…`}
        </PressButton>
      )}
      <Words outcome={refused.value} />
    </li>
  );
}
