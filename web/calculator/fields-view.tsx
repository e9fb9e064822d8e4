import { type ChoiceField, type Field, type NumberField, type Option, unitName, type Values } from './calculation.ts';

type Props = {
  fields: readonly Field[];
  values: Values;
  wrong: Readonly<Record<string, string>>;
  /** Where a filled-in value comes from, by field; gone once somebody types over it. */
  origins: Readonly<Record<string, string>>;
  set: (name: string, text: string) => void;
  choose: (field: ChoiceField, value: string) => void;
};

export function Fields({ fields, values, wrong, origins, set, choose }: Props) {
  return (
    <div class="calc-fields">
      {fields.map((field) =>
        field.kind === 'choice' ? (
          <Choice
            key={field.name}
            field={field}
            value={values[field.name] ?? ''}
            choose={(value) => choose(field, value)}
          />
        ) : (
          <Numeric
            key={field.name}
            field={field}
            values={values}
            wrong={wrong[field.name]}
            origin={origins[field.name]}
            set={set}
          />
        ),
      )}
    </div>
  );
}

type NumericProps = {
  field: NumberField;
  values: Values;
  wrong: string | undefined;
  origin: string | undefined;
  set: (name: string, text: string) => void;
};

function Numeric({ field, values, wrong, origin, set }: NumericProps) {
  const { name, label, unit, hint, optional } = field;
  const id = `calc-${name}`;
  const notes = [
    wrong === undefined ? null : { id: `${id}-wrong`, class: 'calc-wrong', words: wrong },
    origin === undefined ? null : { id: `${id}-origin`, class: 'calc-note', words: `Filled in: ${origin}.` },
    hint === undefined ? null : { id: `${id}-hint`, class: 'calc-note', words: hint },
  ].filter((note) => note !== null);
  const described = [...(typeof unit === 'string' ? [`${id}-unit`] : []), ...notes.map((note) => note.id)].join(' ');
  return (
    <div class="calc-field">
      <label for={id}>
        {label}
        {optional && <span class="soft"> (may stay empty)</span>}
      </label>
      <div class="calc-entry">
        <input
          id={id}
          type="text"
          inputMode="decimal"
          autocomplete="off"
          maxLength={24}
          value={values[name] ?? ''}
          aria-invalid={wrong !== undefined}
          aria-describedby={described}
          onInput={(event) => set(name, event.currentTarget.value)}
        />
        {typeof unit === 'string' ? (
          <span class="calc-unit" id={`${id}-unit`}>
            {unit}
          </span>
        ) : (
          <select
            aria-label={`Unit of: ${label}`}
            value={values[unitName(field)] ?? ''}
            onChange={(event) => set(unitName(field), event.currentTarget.value)}
          >
            <Options options={unit} />
          </select>
        )}
      </div>
      {notes.map((note) => (
        <p key={note.id} id={note.id} class={note.class}>
          {note.words}
        </p>
      ))}
    </div>
  );
}

function Choice({ field, value, choose }: { field: ChoiceField; value: string; choose: (value: string) => void }) {
  const id = `calc-${field.name}`;
  return (
    <div class="calc-field">
      <label for={id}>{field.label}</label>
      <select id={id} value={value} onChange={(event) => choose(event.currentTarget.value)}>
        <Options options={field.options} />
      </select>
      {field.hint !== undefined && <p class="calc-note">{field.hint}</p>}
    </div>
  );
}

function Options({ options }: { options: readonly Option[] }) {
  return options.map(({ value, label }) => (
    <option key={value} value={value}>
      {label}
    </option>
  ));
}
