/**
 * From the table in force to another one: begin a draft, see what it would do, adopt it. Two presses at two places,
 * and the second counts only for the very table that the first has shown.
 */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { TableProblem } from '../../shared/alarm/check-table.ts';
import type { SetPointTable } from '../../shared/alarm/set-point.ts';
import { PressButton, Said, Words } from '../desk/said.tsx';
import { useAct } from '../desk/use-act.ts';
import { Shape } from '../words/shapes.tsx';
import { type Draft, type DraftRead, draftOf, isChanged, tableMark } from './draft.ts';
import { draftChanges } from './draft-changes.ts';
import { TextField } from './fields.tsx';
import { ImportFile, type ImportSaid } from './import-file.tsx';
import { keepDraft, keepSeen, type Seen } from './kept-draft.ts';
import { pathWords, problemWords } from './level-words.ts';
import { Preview } from './preview.tsx';
import { checkOnPost, refreshTable } from './table-data.ts';
import { saveTable } from './table-file.ts';

type Props = {
  table: SetPointTable;
  draft: Draft | null;
  read: DraftRead | null;
  seen: Seen | null;
  /** Whether who looks may adopt. */
  commands: boolean;
  covered: boolean;
  zone: string;
};

export function DraftPart({ table, draft, read, seen, commands, covered, zone }: Props) {
  const act = useAct();
  const imported = useSignal<ImportSaid | null>(null);
  const heading = useRef<HTMLHeadingElement>(null);
  const take = (next: Draft | null) => {
    act.clear();
    imported.value = null;
    keepDraft(next);
    heading.current?.focus();
  };
  return (
    <section class="sp-part sp-draft" aria-labelledby="sp-draft">
      <h2 id="sp-draft" tabIndex={-1} ref={heading}>
        {draft === null ? (commands ? 'Change the table' : 'Keep the table') : 'Draft, not in force'}
      </h2>
      {draft === null && commands && (
        <p class="soft">A draft stays in this page until it is adopted or thrown away. Nothing changes before that.</p>
      )}
      {draft === null && !commands && <p class="soft">Changing it takes an officer.</p>}
      <div class="sp-buttons">
        {draft === null && commands && (
          <PressButton main off={false} onPress={() => take(draftOf(table, table))}>
            Begin a draft
          </PressButton>
        )}
        {draft === null && (
          <PressButton off={false} onPress={() => saveTable(table)}>
            Export as a file
          </PressButton>
        )}
        {commands && (
          <ImportFile
            table={table}
            replaces={draft !== null && isChanged(draft)}
            taken={(next, said) => {
              if (next !== null) take(next);
              imported.value = said;
            }}
          />
        )}
      </div>
      <div aria-live="polite">
        {imported.value && (
          <>
            <Words outcome={imported.value.outcome} />
            <ProblemList problems={imported.value.problems} points={imported.value.points} />
          </>
        )}
      </div>
      {draft !== null && read !== null && commands && (
        <DraftForm
          draft={draft}
          read={read}
          seen={seen}
          table={table}
          covered={covered}
          zone={zone}
          act={act}
          end={() => {
            imported.value = null;
            keepDraft(null);
            heading.current?.focus();
          }}
          discard={() => take(null)}
        />
      )}
      <Said act={act} zone={zone} />
    </section>
  );
}

type FormProps = {
  draft: Draft;
  read: DraftRead;
  seen: Seen | null;
  table: SetPointTable;
  covered: boolean;
  zone: string;
  act: ReturnType<typeof useAct>;
  /** It was adopted. */
  end: () => void;
  discard: () => void;
};

function DraftForm({ draft, read, seen, table, covered, zone, act, end, discard }: FormProps) {
  const asking = useSignal(false);
  const failed = useSignal('');
  const shown = useRef<HTMLHeadingElement>(null);
  const wantsFocus = useRef(false);
  const ready = read.table;
  const base = tableMark(table);
  const moved = tableMark(draft.base) !== base;
  const fits = ready !== null && seen !== null && seen.mark === tableMark(ready) && seen.base === base;
  const mayAdopt = fits && seen.check.preview !== null && !covered;
  useEffect(() => {
    if (wantsFocus.current && shown.current !== null) shown.current.focus();
    if (shown.current !== null) wantsFocus.current = false;
  }, [seen]);

  async function look(): Promise<void> {
    if (ready === null || covered || asking.value) return;
    asking.value = true;
    failed.value = '';
    const answer = await checkOnPost(ready);
    asking.value = false;
    if (!answer.ok) {
      failed.value = answer.message;
      return;
    }
    wantsFocus.current = true;
    keepSeen({ mark: tableMark(ready), base, check: answer.value });
  }
  async function adopt(): Promise<void> {
    if (ready === null || !mayAdopt) return;
    const answer = await act.send(
      { type: 'set-points-adopt', table: ready },
      `“${ready.name}”, version ${ready.version}, is in force.`,
    );
    if (answer?.status !== 'done') return;
    end();
    await refreshTable();
  }

  const errors = read.problems.filter((problem) => problem.severity === 'error').length;
  const failing = seen !== null && fits && seen.check.preview === null;
  return (
    <div class="sp-draft-form">
      <div class="sp-two">
        <TextField
          label="Name"
          maxLength={100}
          value={draft.name}
          wrong={wordsAt(read.problems, 'name')}
          set={(name) => keepDraft({ ...draft, name })}
        />
        <TextField
          label="Version"
          maxLength={9}
          value={draft.version}
          wrong={wordsAt(read.problems, 'version')}
          set={(version) => keepDraft({ ...draft, version })}
        />
      </div>
      {moved && (
        <p class="sp-caution">
          <Shape of="caution" />
          Another table was adopted since this draft was begun. What the draft changes is said against the one that was
          in force then: compare them before you adopt, or throw the draft away.
        </p>
      )}
      <Changes draft={draft} />
      <div role="status">
        <p>
          {errors === 0 ? (
            'Nothing keeps it from being adopted.'
          ) : (
            <b>{errorWords(errors)} to mend before it can be adopted.</b>
          )}
        </p>
      </div>
      <ProblemList problems={read.problems} points={draft.points} />
      <PressButton off={ready === null || covered} busy={asking} onPress={() => void look()}>
        See what it would change
      </PressButton>
      <Words outcome={failed.value === '' ? null : { level: 'caution', words: `Not looked at: ${failed.value}` }} />
      {seen !== null && fits && seen.check.preview !== null && (
        <Preview check={seen.check} preview={seen.check.preview} heading={shown} zone={zone} covered={covered} />
      )}
      {failing && <ProblemList problems={seen.check.problems} points={draft.points} />}
      {seen !== null && !fits && (
        <p class="sp-caution">
          <Shape of="caution" />
          {ready === null || seen.base === base
            ? 'The draft is not what was looked at: see again what it would change.'
            : 'Another table is in force since: see again what it would change.'}
        </p>
      )}
      <div class="sp-apart">
        <Discard changed={isChanged(draft)} discard={discard} />
        <div class="sp-adopt">
          <PressButton main off={!mayAdopt} busy={act.busy} onPress={() => void adopt()}>
            {`Adopt “${draft.name.trim()}”, version ${draft.version.trim()}`}
          </PressButton>
          <p class="soft small">
            {mayAdopt
              ? 'It comes into force at once, under your name as reviewed.'
              : 'Only after you have seen what this very draft would change.'}
          </p>
        </div>
      </div>
    </div>
  );
}

function errorWords(count: number): string {
  return count === 1 ? 'There is 1 thing' : `There are ${count} things`;
}

function wordsAt(problems: readonly TableProblem[], path: string): string | undefined {
  return problems.find((problem) => problem.path === path)?.words;
}

function Changes({ draft }: { draft: Draft }) {
  const lines = draftChanges(draft);
  const unsure = draft.points.filter((point) => point.sourceTag === 'memory').length;
  return (
    <div>
      <h3>What the draft changes</h3>
      {lines.length === 0 && <p>No set-point yet. Adopted as it is, it says that an officer has reviewed the table.</p>}
      <ul class="sp-plain">
        {lines.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
      {unsure > 0 && (
        <p>
          <Shape of="caution" />
          {unsure === 1 ? '1 level is' : `${unsure} levels are`} from memory: verify before you adopt.
        </p>
      )}
    </div>
  );
}

type ListProps = {
  problems: readonly TableProblem[];
  points: Parameters<typeof pathWords>[1];
};

/** Every problem with its place in words; errors first. */
export function ProblemList({ problems, points }: ListProps) {
  const sorted = [...problems].sort((a, b) => Number(a.severity === 'warning') - Number(b.severity === 'warning'));
  if (sorted.length === 0) return null;
  return (
    <ul class="sp-problems">
      {sorted.map((problem) => (
        <li key={`${problem.path} ${problem.code} ${problem.words}`}>
          <Shape of={problem.severity === 'error' ? 'caution' : 'notice'} />
          <b>{pathWords(problem.path, points)}:</b> {problemWords(problem)}
          {problem.severity === 'warning' && <span class="soft"> (may stay so)</span>}
        </li>
      ))}
    </ul>
  );
}

function Discard({ changed, discard }: { changed: boolean; discard: () => void }) {
  const asked = useSignal(false);
  if (!asked.value) {
    return (
      <PressButton
        off={false}
        onPress={() => {
          if (changed) asked.value = true;
          else discard();
        }}
      >
        {changed ? 'Throw the draft away…' : 'Throw the draft away'}
      </PressButton>
    );
  }
  return (
    <div class="sp-buttons">
      <PressButton
        off={false}
        onPress={() => {
          asked.value = false;
        }}
      >
        Keep it
      </PressButton>
      <PressButton off={false} onPress={discard}>
        Confirm: throw it away
      </PressButton>
    </div>
  );
}
