/** One monitor: when it was heard, who has it, and the form or the buttons that change that. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { shownLink } from '../board/row-words.ts';
import type { Store } from '../feed/store.ts';
import { monitorPath } from '../shell/routes.ts';
import { Shape } from '../words/shapes.tsx';
import { ageWords, secondsSince } from '../words/times.ts';
import { HandOver } from './hand-over.tsx';
import { type HandRow, type Person, personWords } from './hand-rows.ts';
import { PressButton, Said } from './said.tsx';
import { type Act, useAct } from './use-act.ts';

type Props = {
  row: HandRow;
  people: readonly Person[];
  store: Store;
  zone: string;
  covered: boolean;
  /** Whether whoever looks may hand monitors over. */
  hands: boolean;
};

export function MonitorLine({ row, people, store, zone, covered, hands }: Props) {
  const { id, holder } = row;
  const act = useAct();
  const step = useSignal<'none' | 'change' | 'back'>('none');
  const place = useRef<HTMLTableCellElement>(null);
  const keepFocus = useRef(false);
  const held = holder !== null;
  const shown = held ? step.value : 'form';

  // What was pressed goes away; whoever works by keyboard stays in the row.
  useEffect(() => {
    if (!keepFocus.current) return;
    keepFocus.current = false;
    place.current?.querySelector<HTMLElement>('.desk-fields input, button')?.focus();
  }, [shown]);
  function goTo(next: 'none' | 'change' | 'back'): void {
    keepFocus.current = place.current?.contains(document.activeElement) === true;
    step.value = next;
  }
  async function handBack(): Promise<void> {
    if (covered || !holder) return;
    const { name } = holder;
    const answer = await act.send({ type: 'assign', monitor: id, entrant: null }, `${id} is handed back by ${name}.`);
    if (answer?.status === 'done') goTo('none');
  }

  return (
    <tr class="desk-monitor">
      <th scope="row">
        <a href={monitorPath(id)}>{id}</a>
        <Heard store={store} row={row} covered={covered} />
      </th>
      <td ref={place}>
        <div class="desk-holder">
          <p class={covered ? 'desk-state covered' : 'desk-state'}>
            {holder ? (
              <>
                <b>{personWords(holder)}</b>
                {holder.zone && <span class="soft"> in the {holder.zone} zone</span>}
              </>
            ) : (
              <span class="soft">nobody has it</span>
            )}
          </p>
          {hands && held && shown === 'none' && (
            <div class="desk-buttons">
              <PressButton off={covered} busy={act.busy} onPress={() => goTo('change')}>
                Change
              </PressButton>
              <PressButton
                off={covered}
                busy={act.busy}
                onPress={() => (holder.zone === 'cold' ? handBack() : goTo('back'))}
              >
                Hand back
              </PressButton>
            </div>
          )}
        </div>
        {hands && (shown === 'form' || shown === 'change') && (
          <HandOver
            key={shown}
            monitor={id}
            people={people}
            act={act}
            off={covered}
            takesFocus={shown === 'change'}
            {...(shown === 'change' ? { onBack: () => goTo('none') } : {})}
            onDone={() => goTo('none')}
          />
        )}
        {hands && holder && shown === 'back' && (
          <StillInside holder={holder} act={act} off={covered} onBack={() => goTo('none')} onConfirm={handBack} />
        )}
        {hands && <Said act={act} zone={zone} />}
      </td>
    </tr>
  );
}

type StillInsideProps = { holder: Person; act: Act; off: boolean; onBack: () => void; onConfirm: () => void };

/** A wearer past the control line: without a monitor, nothing watches them. */
function StillInside({ holder, act, off, onBack, onConfirm }: StillInsideProps) {
  return (
    <div class="desk-form desk-confirm">
      <p>
        <Shape of="caution" />
        <b>
          {holder.name} is in the {holder.zone ?? 'unknown'} zone, as last told.
        </b>{' '}
        Handed back, no monitor here belongs to {holder.name}: silence and stillness are no danger alarms any more.
      </p>
      <div class="desk-apart">
        <PressButton off={false} busy={act.busy} onPress={onBack}>
          Back
        </PressButton>
        <PressButton main off={off} busy={act.busy} onPress={onConfirm}>
          {`Confirm: ${holder.name} hands it back`}
        </PressButton>
      </div>
    </div>
  );
}

function Heard({ store, row, covered }: { store: Store; row: HandRow; covered: boolean }) {
  const view = store.monitor(row.id).value;
  if (covered) return <span class="desk-heard soft">not known now</span>;
  if (!row.heard || !view) return <span class="desk-heard">never heard</span>;
  const nowMs = store.nowMs.value;
  const age = ageWords(secondsSince(view.lastHeardAt, nowMs));
  const silent = shownLink(view, nowMs) !== 'live';
  const { battery, testDue } = view.status;
  return (
    <span class={silent ? 'desk-heard silent' : 'desk-heard soft'}>
      {silent ? `silent for ${age}` : `heard ${age} ago`}
      {view.simulated && ', simulated'}
      {battery !== undefined && `, battery ${Math.round(battery)} %`}
      {testDue && ', test due'}
    </span>
  );
}
