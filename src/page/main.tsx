import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import { App } from './App.tsx';
import { inBackground, listenForFaults } from './faults/lazy-part.tsx';
import { followPiece } from './follow-piece.ts';
import { keepOffline } from './offline.ts';
import { keepProofs } from './shop/keep-proofs.ts';
import { openFirst } from './store/open-first.ts';
import '@fontsource-variable/fraunces/index.css';
import '@fontsource-variable/public-sans/index.css';
import './styles.css';

const root = document.getElementById('root');
if (!root) throw new Error('the page has no place for the app');
listenForFaults();
followPiece();
keepProofs();
const page = createRoot(root);
page.render(<p className="opening">Opening the piece…</p>);
// What can be changed before the piece is there would be lost when it comes. Its view, half of the page, loads meanwhile.
// If it does not come, the place where it is shown says so.
import('./render/stage/Stage.tsx').catch(() => {});
const opened = openFirst().finally(() =>
  page.render(
    <StrictMode>
      <App />
    </StrictMode>,
  ),
);
inBackground(opened);
// A browser that keeps nothing works as before.
opened.then(keepOffline).catch(() => {});
