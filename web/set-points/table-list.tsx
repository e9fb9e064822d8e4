/** The table by channel: the one in force for reading, or the draft with its forms. */
import { useSignal } from '@preact/signals';
import { useLayoutEffect, useRef } from 'preact/hooks';
import type { TableProblem } from '../../shared/alarm/check-table.ts';
import type { SetPoint, SetPointTable } from '../../shared/alarm/set-point.ts';
import { channelName } from '../../shared/quantity/display.ts';
import { Shape } from '../words/shapes.tsx';
import {
  addPoint,
  changedFields,
  changePoint,
  type Draft,
  type DraftPoint,
  pointOf,
  putBack,
  removedFrom,
  removePoint,
} from './draft.ts';
import { ChoiceField } from './fields.tsx';
import { byChannel, FIELD_WORDS, problemWords } from './level-words.ts';
import { PointForm } from './point-form.tsx';
import { PointLine } from './point-line.tsx';

export function TableList({ table }: { table: SetPointTable }) {
  return (
    <>
      {byChannel(table.setPoints).map((group) => (
        <section key={group.channel} class="sp-group" aria-labelledby={`sp-of-${group.channel}`}>
          <h3 id={`sp-of-${group.channel}`}>{group.name}</h3>
          <ul class="sp-lines">
            {group.points.map((point) => (
              <li key={point.id}>
                <PointLine point={point} reviewed={table.reviewedBy !== null} />
              </li>
            ))}
          </ul>
        </section>
      ))}
    </>
  );
}

type DraftProps = {
  draft: Draft;
  problems: readonly TableProblem[];
  /** Channels that a set-point may be of. */
  channels: readonly string[];
  keep: (draft: Draft) => void;
};

export function DraftList({ draft, problems, channels, keep }: DraftProps) {
  const open = useSignal<number | null>(null);
  const place = useRef<HTMLDivElement>(null);
  const goTo = useRef<string | null>(null);
  // What was pressed goes away with the form; whoever works by keyboard stays at the line.
  useLayoutEffect(() => {
    if (goTo.current !== null) {
      const there = place.current?.querySelector<HTMLElement>(goTo.current);
      (there ?? document.getElementById('sp-table'))?.focus();
    }
    goTo.current = null;
  });
  const line = (point: DraftPoint) => (
    <DraftLine
      key={point.key}
      point={point}
      problems={ofLine(problems, draft.points.indexOf(point))}
      channels={channels}
      open={open.value === point.key}
      change={(fields) => keep(changePoint(draft, point.key, fields))}
      remove={() => {
        goTo.current = `#${CSS.escape(`sp-draft-of-${point.channel}`)}`;
        keep(removePoint(draft, point.key));
      }}
      toggle={(on) => {
        open.value = on ? point.key : null;
        if (!on) goTo.current = `#sp-line-${point.key} .sp-change`;
      }}
    />
  );
  const gone = removedFrom(draft);
  const groups = byChannel([...draft.points, ...gone.map((point) => ({ channel: point.channel }))]);
  return (
    <div ref={place}>
      {groups.map(({ channel, name }) => (
        <section key={channel} class="sp-group" aria-labelledby={`sp-draft-of-${channel}`}>
          <h3 id={`sp-draft-of-${channel}`} tabIndex={-1}>
            {name}
          </h3>
          <ul class="sp-lines">
            {draft.points.filter((point) => point.channel === channel).map(line)}
            {gone
              .filter((point) => point.channel === channel)
              .map((point) => (
                <GoneLine key={`gone ${point.id}`} point={point} putBack={() => keep(putBack(draft, point))} />
              ))}
          </ul>
        </section>
      ))}
      <AddPoint
        channels={channels}
        add={(channel) => {
          open.value = draft.nextKey;
          keep(addPoint(draft, channel));
        }}
      />
    </div>
  );
}

function ofLine(problems: readonly TableProblem[], index: number): TableProblem[] {
  return problems.filter((problem) => problem.path.startsWith(`setPoints.${index}.`));
}

type LineProps = {
  point: DraftPoint;
  problems: readonly TableProblem[];
  channels: readonly string[];
  open: boolean;
  change: (fields: Partial<DraftPoint>) => void;
  remove: () => void;
  toggle: (open: boolean) => void;
};

function DraftLine({ point, problems, channels, open, change, remove, toggle }: LineProps) {
  const read = pointOf(point);
  const fields = changedFields(point);
  const mark = point.was === null ? 'new' : fields.length > 0 ? 'changed' : null;
  const name = point.id === '' ? 'the new set-point' : point.id;
  const wrong: Record<string, string> = {};
  for (const problem of problems) {
    const field = problem.path.split('.')[2] ?? '';
    if (problem.severity === 'error') wrong[field] ??= problemWords(problem);
  }
  return (
    <li id={`sp-line-${point.key}`} class={mark === null ? '' : 'sp-touched'}>
      {read === null ? (
        <p class="sp-big">
          {channelName(point.channel)}, {name}: not readable yet
        </p>
      ) : (
        <PointLine point={read} reviewed={false} mark={mark} />
      )}
      {!open && problems.length > 0 && <Problems problems={problems} />}
      {open && <PointForm point={point} channels={channels} wrong={wrong} change={change} done={() => toggle(false)} />}
      <div class="sp-line-buttons">
        {!open && (
          <button type="button" class="button sp-change" onClick={() => toggle(true)} aria-label={`Change ${name}`}>
            Change
          </button>
        )}
        <button type="button" class="button" onClick={remove} aria-label={`Remove ${name}`}>
          Remove
        </button>
      </div>
    </li>
  );
}

function Problems({ problems }: { problems: readonly TableProblem[] }) {
  return (
    <ul class="sp-line-problems">
      {problems.map((problem) => (
        <li key={`${problem.path} ${problem.code} ${problem.words}`}>
          <Shape of="caution" />
          {FIELD_WORDS[problem.path.split('.')[2] ?? ''] ?? ''}: {problemWords(problem)}
        </li>
      ))}
    </ul>
  );
}

function GoneLine({ point, putBack }: { point: SetPoint; putBack: () => void }) {
  return (
    <li class="sp-touched">
      <div class="sp-gone">
        <PointLine point={point} reviewed={false} mark="gone from the draft" />
      </div>
      <div class="sp-line-buttons">
        <button type="button" class="button" onClick={putBack} aria-label={`Put back ${point.id}`}>
          Put back
        </button>
      </div>
    </li>
  );
}

function AddPoint({ channels, add }: { channels: readonly string[]; add: (channel: string) => void }) {
  const channel = useSignal(channels[0] ?? 'o2');
  return (
    <div class="sp-add">
      <ChoiceField
        label="Another set-point on"
        value={channel.value}
        options={channels.map((one) => ({ value: one, label: channelName(one) }))}
        choose={(value) => {
          channel.value = value;
        }}
      />
      <button type="button" class="button" onClick={() => add(channel.value)}>
        Add it
      </button>
    </div>
  );
}
