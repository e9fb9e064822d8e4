/** Wall screens: a code that pairs one, the list of those that are paired, and ending one. */
import { useSignal } from '@preact/signals';
import { useCallback, useEffect, useRef } from 'preact/hooks';
import { fieldText } from '../access/form-page.tsx';
import type { PartProps } from './desk-page.tsx';
import type { Outcome } from './outcome-words.ts';
import { PairingCode } from './pairing-code.tsx';
import { PressButton, Words } from './said.tsx';
import { WallLine } from './wall-line.tsx';
import { type Code, goodUntil, listWalls, makeCode, type Wall } from './wall-screens.ts';

const LOOK_EVERY_MS = 3_000;

export function WallsPart({ store, zone }: PartProps) {
  const walls = useSignal<readonly Wall[] | null>(null);
  const code = useSignal<Code | null>(null);
  const busy = useSignal(false);
  const said = useSignal<Outcome | null>(null);
  const heading = useRef<HTMLHeadingElement>(null);

  const look = useCallback(async () => {
    const answer = await listWalls();
    if (!answer.ok) {
      if (walls.peek() === null) said.value = { level: 'caution', words: `The list did not come: ${answer.message}` };
      return;
    }
    const before = walls.peek();
    walls.value = answer.value.walls;
    const fresh = before && answer.value.walls.find((wall) => !before.some((old) => old.id === wall.id));
    if (!fresh || code.peek() === null) return;
    code.value = null;
    said.value = { level: 'plain', words: `Paired: “${fresh.name}” shows the board now.` };
  }, [walls, code, said]);

  // While a code is shown somebody is typing it in elsewhere.
  const waits = code.value !== null;
  useEffect(() => {
    void look();
    if (!waits) return;
    const timer = setInterval(look, LOOK_EVERY_MS);
    return () => clearInterval(timer);
  }, [look, waits]);

  async function pair(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    if (!(event.currentTarget instanceof HTMLFormElement) || busy.value) return;
    const name = fieldText(new FormData(event.currentTarget), 'name').trim() || 'Wall screen';
    busy.value = true;
    said.value = null;
    const askedMs = performance.now();
    const answer = await makeCode(name);
    busy.value = false;
    if (answer.ok) code.value = { code: answer.value.code, name, goodUntilMs: goodUntil(askedMs) };
    else said.value = { level: 'caution', words: `No code was made: ${answer.message}` };
  }

  return (
    <section class="desk-part" aria-labelledby="desk-walls">
      <h2 id="desk-walls" ref={heading} tabIndex={-1}>
        Wall screens
      </h2>
      <p class="soft">A paired screen shows the board, never logs out and can do nothing else.</p>
      <form class="desk-fields" onSubmit={pair} aria-label="Pair a wall screen">
        <label>
          Name of the screen
          <input name="name" type="text" maxLength={64} defaultValue="Wall screen" autocomplete="off" />
        </label>
        <PressButton main off={false} busy={busy}>
          {waits ? 'Make another code' : 'Make a pairing code'}
        </PressButton>
      </form>
      {code.value && <PairingCode store={store} code={code.value} />}
      <Words outcome={said.value} />
      <h3>Paired screens</h3>
      {walls.value === null && <p>Asking the post…</p>}
      {walls.value?.length === 0 && <p>No screen is paired.</p>}
      <ul class="desk-walls">
        {walls.value?.map((wall) => (
          <WallLine
            key={wall.id}
            wall={wall}
            zone={zone}
            store={store}
            onEnded={(outcome) => {
              said.value = outcome;
              heading.current?.focus();
              void look();
            }}
          />
        ))}
      </ul>
    </section>
  );
}
