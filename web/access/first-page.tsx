import { go } from '../shell/routes.ts';
import { FormPage, fieldText } from './form-page.tsx';
import { claimFirst } from './session.ts';

/** The first commander of a new post, by the code that it printed when it started. */
export function FirstPage({ code }: { code: string }) {
  return (
    <FormPage
      title="Set up this command post"
      words="This makes the first commander. The code stands in what the post printed when it started."
      button="Make the first commander"
      send={async (values) => {
        const answer = await claimFirst(
          fieldText(values, 'code').trim(),
          fieldText(values, 'name').trim(),
          fieldText(values, 'passphrase'),
        );
        if (answer.ok) go('/');
        return answer;
      }}
    >
      <label>
        Code
        <input name="code" type="text" autocomplete="one-time-code" required maxLength={128} defaultValue={code} />
      </label>
      <label>
        Your name
        <input name="name" type="text" autocomplete="username" required maxLength={64} />
      </label>
      <label>
        Passphrase
        <input name="passphrase" type="password" autocomplete="new-password" required maxLength={1024} />
        <span class="soft small">Several words that belong to nobody’s pet. Nobody can read it back to you.</span>
      </label>
    </FormPage>
  );
}
