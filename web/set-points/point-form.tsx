/** The form of one set-point in the draft. What is typed is checked as it is typed. */
import { useEffect, useRef } from 'preact/hooks';
import { priority, setPoint } from '../../shared/alarm/set-point.ts';
import { UNITS } from '../../shared/quantity/channels.ts';
import { channelName } from '../../shared/quantity/display.ts';
import { unitWords } from '../words/values.ts';
import type { DraftPoint } from './draft.ts';
import { CheckField, ChoiceField, TextField } from './fields.tsx';
import { COMPARE_WORDS, DIRECTION_WORDS, levelUnitWords, TAG_WORDS, unitOf } from './level-words.ts';

type Props = {
  point: DraftPoint;
  channels: readonly string[];
  /** Words of what is wrong, by field of the table. */
  wrong: Readonly<Record<string, string>>;
  change: (fields: Partial<DraftPoint>) => void;
  done: () => void;
};

const { compare, direction, sourceTag } = setPoint.shape;

export function PointForm({ point, channels, wrong, change, done }: Props) {
  const form = useRef<HTMLFormElement>(null);
  useEffect(() => form.current?.querySelector<HTMLElement>('input, select')?.focus(), []);
  const unit = levelUnitWords(point.unit, point.compare);
  const free = unitOf(point.compare, point.channel) === null;
  return (
    <form
      ref={form}
      class="sp-form"
      aria-label={`Set-point ${point.id === '' ? 'without a short name' : point.id}`}
      onSubmit={(event) => {
        event.preventDefault();
        done();
      }}
    >
      {point.was === null && (
        <TextField
          label="Short name (part of every alarm’s id)"
          value={point.id}
          maxLength={48}
          wrong={wrong.id}
          set={(id) => change({ id: id.trim().toLowerCase() })}
        />
      )}
      <TextField
        label="Level"
        numeric
        value={point.value}
        unit={unit}
        {...(point.channel === 'voc' && point.unit === 'ppm'
          ? { hint: 'The board writes ppb: 1 ppm is 1000 ppb.' }
          : {})}
        wrong={wrong.value ?? wrong.unit}
        set={(value) => change({ value })}
      />
      {free && (
        <ChoiceField
          label="Unit"
          value={point.unit}
          options={UNITS.map((one) => ({ value: one, label: unitWords(one) }))}
          choose={(value) => change({ unit: UNITS.find((one) => one === value) ?? point.unit })}
        />
      )}
      <ChoiceField
        label="Direction"
        value={point.direction}
        options={direction.options.map((one) => ({ value: one, label: DIRECTION_WORDS[one] }))}
        choose={(value) => change({ direction: direction.options.find((one) => one === value) ?? point.direction })}
      />
      <ChoiceField
        label="What is compared"
        value={point.compare}
        options={compare.options.map((one) => ({ value: one, label: COMPARE_WORDS[one] }))}
        wrong={wrong.compare}
        choose={(value) => change({ compare: compare.options.find((one) => one === value) ?? point.compare })}
      />
      <ChoiceField
        label="Channel"
        value={point.channel}
        options={channels.map((one) => ({ value: one, label: channelName(one) }))}
        wrong={wrong.channel}
        choose={(value) => change({ channel: value })}
      />
      <TextField
        label="Deadband before it can return"
        numeric
        value={point.deadband}
        unit={unit}
        wrong={wrong.deadband}
        set={(deadband) => change({ deadband })}
      />
      <TextField
        label="Delay before the alarm"
        numeric
        value={point.onDelayS}
        unit="s"
        wrong={wrong.onDelayMs}
        set={(onDelayS) => change({ onDelayS })}
      />
      <TextField
        label="Delay before it returns"
        numeric
        value={point.offDelayS}
        unit="s"
        wrong={wrong.offDelayMs}
        set={(offDelayS) => change({ offDelayS })}
      />
      <ChoiceField
        label="Priority"
        value={point.priority}
        options={priority.options.map((one) => ({ value: one, label: one }))}
        wrong={wrong.priority}
        choose={(value) => change({ priority: priority.options.find((one) => one === value) ?? point.priority })}
      />
      <fieldset class="sp-checks">
        <legend>Marks</legend>
        <CheckField
          label="Withdraw line: where headroom ends"
          checked={point.withdraw}
          set={(withdraw) => change({ withdraw })}
        />
        <CheckField
          label="Protected: never put aside"
          checked={point.protected}
          set={(on) => change({ protected: on })}
        />
        <CheckField label="Latched: held until reset" checked={point.latched} set={(latched) => change({ latched })} />
      </fieldset>
      <TextField
        label="What to do, by your agency’s procedure"
        long
        value={point.action}
        wrong={wrong.action}
        set={(action) => change({ action })}
      />
      <TextField
        label="Where the level is from"
        long
        value={point.source}
        wrong={wrong.source}
        set={(source) => change({ source })}
      />
      <ChoiceField
        label="How sure"
        value={point.sourceTag}
        options={sourceTag.options.map((one) => ({ value: one, label: TAG_WORDS[one] }))}
        choose={(value) => change({ sourceTag: sourceTag.options.find((one) => one === value) ?? point.sourceTag })}
      />
      <div class="sp-form-end">
        <button type="submit" class="button">
          Done with this line
        </button>
      </div>
    </form>
  );
}
