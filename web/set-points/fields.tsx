/** Large fields of the forms of this page, each with its unit beside it and its problem below it. */
import { useId } from 'preact/hooks';

export type Option = { readonly value: string; readonly label: string };

type TextProps = {
  label: string;
  value: string;
  wrong: string | undefined;
  set: (text: string) => void;
  /** Shown behind the value, always. */
  unit?: string;
  numeric?: boolean;
  hint?: string;
  long?: boolean;
  maxLength?: number;
};

export function TextField({
  label,
  value,
  wrong,
  set,
  unit,
  numeric = false,
  hint,
  long = false,
  maxLength,
}: TextProps) {
  const id = useId();
  const described = [
    unit === undefined ? '' : `${id}-unit`,
    wrong === undefined ? '' : `${id}-wrong`,
    hint === undefined ? '' : `${id}-hint`,
  ].filter((one) => one !== '');
  const common = {
    id,
    value,
    autocomplete: 'off' as const,
    maxLength: maxLength ?? (numeric ? 24 : 500),
    'aria-invalid': wrong !== undefined,
    ...(described.length === 0 ? {} : { 'aria-describedby': described.join(' ') }),
  };
  return (
    <div class={long ? 'sp-field long' : 'sp-field'}>
      <label for={id}>{label}</label>
      <div class="sp-entry">
        {long ? (
          <textarea {...common} rows={2} onInput={(event) => set(event.currentTarget.value)} />
        ) : (
          <input
            {...common}
            type="text"
            inputMode={numeric ? 'decimal' : 'text'}
            onInput={(event) => set(event.currentTarget.value)}
          />
        )}
        {unit !== undefined && (
          <span class="sp-unit" id={`${id}-unit`}>
            {unit}
          </span>
        )}
      </div>
      {wrong !== undefined && (
        <p class="sp-wrong" id={`${id}-wrong`}>
          {wrong}
        </p>
      )}
      {hint !== undefined && (
        <p class="soft small" id={`${id}-hint`}>
          {hint}
        </p>
      )}
    </div>
  );
}

type ChoiceProps = {
  label: string;
  value: string;
  options: readonly Option[];
  wrong?: string | undefined;
  choose: (value: string) => void;
};

export function ChoiceField({ label, value, options, wrong, choose }: ChoiceProps) {
  const id = useId();
  return (
    <div class="sp-field">
      <label for={id}>{label}</label>
      <select
        id={id}
        value={value}
        aria-invalid={wrong !== undefined}
        {...(wrong === undefined ? {} : { 'aria-describedby': `${id}-wrong` })}
        onChange={(event) => choose(event.currentTarget.value)}
      >
        {options.map((option) => (
          <option key={option.value} value={option.value}>
            {option.label}
          </option>
        ))}
      </select>
      {wrong !== undefined && (
        <p class="sp-wrong" id={`${id}-wrong`}>
          {wrong}
        </p>
      )}
    </div>
  );
}

type CheckProps = { label: string; checked: boolean; set: (on: boolean) => void };

export function CheckField({ label, checked, set }: CheckProps) {
  return (
    <label class="sp-check">
      <input type="checkbox" checked={checked} onChange={(event) => set(event.currentTarget.checked)} />
      {label}
    </label>
  );
}
