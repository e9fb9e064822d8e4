/** The trade's arithmetic for staff: one form a calculation, the answer as it is typed. Nothing typed is kept or sent. */
import { useSignal } from '@preact/signals';
import { FIRST, GROUPS } from './all-calculations.ts';
import { Answers } from './answer-view.tsx';
import { type Calculation, initialValues, solve } from './calculation.ts';
import { Fields } from './fields-view.tsx';
import { chooseIn, type Sheet, startSheet, typeInto } from './sheet.ts';
import './calculator.css';

export function CalculatorPage() {
  const chosen = useSignal<Calculation>(FIRST);
  // Each form keeps what was typed while the page stands, so that one can look into another and come back.
  const sheets = useSignal<Readonly<Record<string, Sheet>>>({});
  const calculation = chosen.value;
  const sheet = sheets.value[calculation.id] ?? startSheet(initialValues(calculation));
  const keep = (next: Sheet) => {
    sheets.value = { ...sheets.value, [calculation.id]: next };
  };
  const solved = solve(calculation, sheet.values);
  return (
    <main class="calc-page">
      <header class="calc-head">
        <h1>Calculator</h1>
        <p>
          <b>Arithmetic on what you type. Not a reading, and not in the record.</b> It knows nothing of your monitors,
          and what you type is neither kept nor sent.
        </p>
      </header>
      <nav class="calc-list" aria-label="Calculations">
        {GROUPS.map((group) => (
          <div key={group.name} class="calc-group">
            <h2 id={`calc-group-${group.name}`}>{group.name}</h2>
            <ul aria-labelledby={`calc-group-${group.name}`}>
              {group.calculations.map((one) => (
                <li key={one.id}>
                  <button
                    type="button"
                    {...(one === calculation ? { 'aria-current': 'true' as const } : {})}
                    onClick={() => {
                      chosen.value = one;
                    }}
                  >
                    {one.name}
                  </button>
                </li>
              ))}
            </ul>
          </div>
        ))}
      </nav>
      <form class="calc-form" key={calculation.id} autocomplete="off" onSubmit={(event) => event.preventDefault()}>
        <div class="calc-form-head">
          <h2>{calculation.name}</h2>
          <button type="button" class="button plain" onClick={() => keep(startSheet(initialValues(calculation)))}>
            Clear
          </button>
        </div>
        <p class="soft">{calculation.words}</p>
        <Fields
          fields={calculation.fields.filter((field) => field.shownWhen?.(sheet.values) ?? true)}
          values={sheet.values}
          wrong={solved.wrong}
          origins={sheet.origins}
          set={(name, text) => keep(typeInto(sheet, name, text))}
          choose={(field, value) => keep(chooseIn(sheet, field, value))}
        />
        <Answers solved={solved} />
      </form>
    </main>
  );
}
