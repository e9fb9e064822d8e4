/** Starts the page: who is here first, then the board. */
import './without-eval.ts';
import { render } from 'preact';
import '@fontsource/b612/latin-400.css';
import '@fontsource/b612/latin-700.css';
import './styles/tokens.css';
import './styles/page.css';
import './styles/shell.css';
import './sound/sound.css';
import { refreshSession } from './access/session.ts';
import { createStore } from './feed/store.ts';
import { App } from './shell/app.tsx';
import { followLinks } from './shell/routes.ts';
import './shell/theme.ts';
// Last, so that paper has the last word.
import './styles/print.css';

const RETRY_MS = 1000;
const page = document.getElementById('page');
if (!page) throw new Error('the page has no place to draw in');

/** A post that does not answer yet is asked again; only its own "nobody" leads to the login. */
async function whoIsHere(): Promise<void> {
  for (;;) {
    const answer = await refreshSession();
    if (answer.ok || answer.status === 401) return;
    page?.replaceChildren('Calling the post… it does not answer yet.');
    await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
  }
}

followLinks();
await whoIsHere();
page.replaceChildren();
render(<App store={createStore()} />, page);
