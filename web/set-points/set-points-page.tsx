/** The set-points in force and how an officer changes them; and the background that some of them are held against. */
import { useComputed } from '@preact/signals';
import type { SetPointTable } from '../../shared/alarm/set-point.ts';
import { KNOWN_CHANNELS } from '../../shared/quantity/channels.ts';
import { mayNow } from '../access/session.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { Shape } from '../words/shapes.tsx';
import { BackgroundPart } from './background-part.tsx';
import { backgroundChannels } from './background-words.ts';
import { readDraft } from './draft.ts';
import { DraftPart, ProblemList } from './draft-part.tsx';
import { keepDraft, ownDraft } from './kept-draft.ts';
import { inForce, useTableInForce } from './table-data.ts';
import { DraftList, TableList } from './table-list.tsx';
import './set-points.css';

export function SetPointsPage({ store }: { store: Store }) {
  useTableInForce(store);
  const zone = useComputed(() => store.head.value?.journal.zone ?? 'UTC').value;
  const covered = useComputed(() => isCovered(store.feed.value.phase)).value;
  const known = inForce.value;
  const commands = mayNow('command');
  const table = known !== null && 'table' in known ? known.table : null;
  const kept = commands ? ownDraft() : null;
  const read = kept === null ? null : readDraft(kept.draft);
  return (
    <main class="set-points">
      <div class="sp-head">
        <h1>Set-points</h1>
        {!commands && <p>You are looking only: nothing can be changed from here.</p>}
        {table !== null && <Jumps drafts={kept !== null} />}
        {covered && (
          <p class="sp-not-live" role="status">
            <Shape of="danger" />
            Not live: the table is as last told, and nothing can be sent until the post is heard again.
          </p>
        )}
      </div>
      {known === null && <p>Asking the post for the table.</p>}
      {known !== null && 'failed' in known && (
        <p role="alert">
          <Shape of="caution" />
          The table could not be fetched: {known.failed}
        </p>
      )}
      {known !== null && table !== null && 'problems' in known && (
        <>
          <DraftPart
            table={table}
            draft={kept?.draft ?? null}
            read={read}
            seen={kept?.seen ?? null}
            commands={commands}
            covered={covered}
            zone={zone}
          />
          <section class="sp-part sp-table" aria-labelledby="sp-table">
            <h2 id="sp-table" tabIndex={-1}>
              {kept === null ? 'Table in force' : 'Draft, line by line'}
            </h2>
            <InForceWords table={table} drafts={kept !== null} />
            {kept === null && <ProblemList problems={known.problems} points={table.setPoints} />}
            {kept === null || read === null ? (
              <TableList table={table} />
            ) : (
              <DraftList
                draft={kept.draft}
                problems={read.problems}
                channels={channelChoices(store, table, kept.draft.points)}
                keep={keepDraft}
              />
            )}
          </section>
          <BackgroundPart store={store} channels={backgroundChannels(table.setPoints)} zone={zone} covered={covered} />
        </>
      )}
    </main>
  );
}

function InForceWords({ table, drafts }: { table: SetPointTable; drafts: boolean }) {
  const count = table.setPoints.length;
  return (
    <div class="sp-in-force">
      <p class="sp-big">
        {drafts && <span class="soft">in force: </span>}
        {table.name}, version {table.version}
      </p>
      {table.reviewedBy === null ? (
        <p class="sp-caution">
          <Shape of="caution" />
          <b>Not yet reviewed.</b> Published starting points, {count} of them; no officer has adopted a table. Your
          agency’s procedure governs.
        </p>
      ) : (
        <p>
          Reviewed and adopted by <b>{table.reviewedBy}</b>; {count} set-points.
        </p>
      )}
    </div>
  );
}

/** The six, what any monitor measures, and what is in the tables already. */
function channelChoices(
  store: Store,
  table: SetPointTable,
  points: readonly { readonly channel: string }[],
): readonly string[] {
  store.roster.value; // moves on when somebody measures something else
  const heard = store.ids.value.flatMap((id) => Object.keys(store.monitor(id).peek()?.readings ?? {}));
  const further = [...heard, ...table.setPoints.map((point) => point.channel), ...points.map((point) => point.channel)];
  return [...new Set<string>([...KNOWN_CHANNELS, ...further.sort()])];
}

function Jumps({ drafts }: { drafts: boolean }) {
  const parts = [
    ['sp-draft', drafts ? 'Draft' : mayNow('command') ? 'Change' : 'Export'],
    ['sp-table', drafts ? 'Lines' : 'Table'],
    ['sp-background', 'Background'],
  ] as const;
  return (
    <nav class="sp-jumps" aria-label="Parts of this page">
      {parts.map(([id, name]) => (
        <button key={id} type="button" class="button" onClick={() => document.getElementById(id)?.focus()}>
          {name}
        </button>
      ))}
    </nav>
  );
}
