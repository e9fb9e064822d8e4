/** What a background is typed into, and what is asked before one is taken that a check refuses or that ends alarms. */
import { type ReadonlySignal, useSignal } from '@preact/signals';
import { useEffect, useId, useRef } from 'preact/hooks';
import type { Unit } from '../../shared/quantity/channels.ts';
import { readNumber } from '../calculator/read-number.ts';
import { PressButton } from '../desk/said.tsx';
import type { CommandBody } from '../desk/sender.ts';
import { Shape } from '../words/shapes.tsx';
import { columnFacts, unitWords } from '../words/values.ts';
import { typedUnits } from './background-words.ts';

export type BackgroundBody = Omit<Extract<CommandBody, { type: 'background' }>, 'type' | 'scope'>;
type Typed = NonNullable<BackgroundBody['channels']>;

type FormProps = {
  name: string;
  channels: readonly string[];
  busy: ReadonlySignal<boolean>;
  off: boolean;
  send: (typed: Typed) => void;
  back: () => void;
};

type Entry = { readonly text: string; readonly unit: Unit };

export function BackgroundForm({ name, channels, busy, off, send, back }: FormProps) {
  const entries = useSignal<Readonly<Record<string, Entry>>>({});
  const wrong = useSignal<Readonly<Record<string, string>>>({});
  const form = useRef<HTMLFormElement>(null);
  useEffect(() => form.current?.querySelector('input')?.focus(), []);

  function submit(event: SubmitEvent): void {
    event.preventDefault();
    if (off) return;
    const typed: Typed = {};
    const found: Record<string, string> = {};
    for (const channel of channels) {
      const entry = entries.value[channel];
      const read = readNumber(entry?.text ?? '');
      if (read.ok) typed[channel] = { value: read.value, unit: entry?.unit ?? firstUnit(channel) };
      else if (read.code !== 'empty') found[channel] = read.message;
    }
    const first = channels[0];
    if (first !== undefined && Object.keys(typed).length === 0 && Object.keys(found).length === 0)
      found[first] = 'Type at least one value.';
    wrong.value = found;
    if (Object.keys(found).length === 0) send(typed);
  }
  return (
    <form ref={form} class="sp-ask" onSubmit={submit} aria-label={`Type the background of ${name}`}>
      <p class="small">What is left empty stays as it is.</p>
      <div class="sp-typed">
        {channels.map((channel) => (
          <TypedValue
            key={channel}
            channel={channel}
            entry={entries.value[channel] ?? { text: '', unit: firstUnit(channel) }}
            wrong={wrong.value[channel]}
            set={(entry) => {
              entries.value = { ...entries.value, [channel]: entry };
            }}
          />
        ))}
      </div>
      <div class="sp-apart">
        <PressButton off={false} busy={busy} onPress={back}>
          Back
        </PressButton>
        <PressButton main off={off} busy={busy}>
          Take these
        </PressButton>
      </div>
    </form>
  );
}

function firstUnit(channel: string): Unit {
  return typedUnits(channel)[0] ?? 'ppm';
}

type ValueProps = { channel: string; entry: Entry; wrong: string | undefined; set: (entry: Entry) => void };

function TypedValue({ channel, entry, wrong, set }: ValueProps) {
  const id = useId();
  const { name } = columnFacts(channel);
  const units = typedUnits(channel);
  return (
    <div class="sp-field">
      <label for={id}>{name}</label>
      <div class="sp-entry">
        <input
          id={id}
          type="text"
          inputMode="decimal"
          autocomplete="off"
          maxLength={24}
          value={entry.text}
          aria-invalid={wrong !== undefined}
          {...(wrong === undefined ? {} : { 'aria-describedby': `${id}-wrong` })}
          onInput={(event) => set({ ...entry, text: event.currentTarget.value })}
        />
        <select
          aria-label={`Unit of ${name}`}
          value={entry.unit}
          onChange={(event) => {
            const unit = units.find((one) => one === event.currentTarget.value);
            if (unit !== undefined) set({ ...entry, unit });
          }}
        >
          {units.map((unit) => (
            <option key={unit} value={unit}>
              {unitWords(unit)}
            </option>
          ))}
        </select>
      </div>
      {wrong !== undefined && (
        <p class="sp-wrong" id={`${id}-wrong`}>
          {wrong}
        </p>
      )}
    </div>
  );
}

type AskProps = { name: string; busy: ReadonlySignal<boolean>; off: boolean; back: () => void };

export function OverrideForm({
  name,
  words,
  busy,
  off,
  send,
  back,
}: AskProps & { words: string; send: (why: string) => void }) {
  const reason = useSignal('');
  const field = useRef<HTMLInputElement>(null);
  const id = useId();
  useEffect(() => field.current?.focus(), []);
  return (
    <form
      class="sp-ask"
      aria-label={`Override for ${name}`}
      onSubmit={(event) => {
        event.preventDefault();
        const why = reason.value.trim();
        if (why !== '' && !off) send(why);
      }}
    >
      <p role="alert">
        <Shape of="caution" />
        <b>Not taken.</b> {words}.
      </p>
      <div class="sp-field long">
        <label for={id}>
          Why it is taken all the same (it stands in the record, and passes over every other check)
        </label>
        <div class="sp-entry">
          <input
            id={id}
            ref={field}
            type="text"
            required
            pattern=".*\S.*"
            maxLength={1000}
            autocomplete="off"
            value={reason.value}
            onInput={(event) => {
              reason.value = event.currentTarget.value;
            }}
          />
        </div>
      </div>
      <div class="sp-apart">
        <PressButton off={false} busy={busy} onPress={back}>
          Leave it
        </PressButton>
        <PressButton main off={off} busy={busy}>
          Override: take it
        </PressButton>
      </div>
    </form>
  );
}

export function ConfirmSilence({
  name,
  alarms,
  busy,
  off,
  send,
  back,
}: AskProps & { alarms: readonly string[]; send: () => void }) {
  const place = useRef<HTMLDivElement>(null);
  useEffect(() => place.current?.focus(), []);
  return (
    // biome-ignore lint/a11y/useSemanticElements: nothing is filled in here, a fieldset would say so
    <div class="sp-ask" role="group" aria-label={`Confirm for ${name}`} ref={place} tabIndex={-1}>
      <p>
        <Shape of="danger" />
        <b>Not taken yet. It would end {alarms.length === 1 ? 'this alarm' : `these ${alarms.length} alarms`}:</b>
      </p>
      <ul class="sp-plain">
        {alarms.map((alarm) => (
          <li key={alarm}>{alarm}</li>
        ))}
      </ul>
      <div class="sp-apart">
        <PressButton off={false} busy={busy} onPress={back}>
          Leave it
        </PressButton>
        <PressButton main off={off} busy={busy} onPress={send}>
          Confirm: take it and end them
        </PressButton>
      </div>
    </div>
  );
}
