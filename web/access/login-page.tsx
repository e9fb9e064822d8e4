import { go } from '../shell/routes.ts';
import { FormPage, fieldText } from './form-page.tsx';
import { actInDemonstration, login, session } from './session.ts';

export function LoginPage() {
  return (
    <FormPage
      title="Log in to this command post"
      words="Everything you answer, draw or change is kept in the record under this name."
      button="Log in"
      send={async (values) => {
        const answer = await login(fieldText(values, 'name').trim(), fieldText(values, 'passphrase'));
        if (answer.ok) go('/');
        return answer;
      }}
      after={
        <div class="form-after">
          {session.value?.demo && (
            <button
              type="button"
              class="button"
              onClick={async () => {
                if ((await actInDemonstration()).ok) go('/');
              }}
            >
              Act as commander in this demonstration
            </button>
          )}
          <a class="button" href="/wall">
            Make this a wall screen
          </a>
        </div>
      }
    >
      <label>
        Name
        <input name="name" type="text" autocomplete="username" required maxLength={64} />
      </label>
      <label>
        Passphrase
        <input name="passphrase" type="password" autocomplete="current-password" required maxLength={1024} />
      </label>
    </FormPage>
  );
}
