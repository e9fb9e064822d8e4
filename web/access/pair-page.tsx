import { FormPage, fieldText } from './form-page.tsx';
import { pairWall } from './session.ts';

/** A screen that is not paired yet. */
export function PairPage() {
  return (
    <FormPage
      title="Pair this wall screen"
      words="An officer makes a pairing code at the command post. A paired screen shows the board, never logs out and can do nothing else."
      button="Pair"
      send={(values) => pairWall(fieldText(values, 'code').trim())}
    >
      <label>
        Pairing code
        <input name="code" type="text" autocomplete="off" required maxLength={64} />
      </label>
    </FormPage>
  );
}
