import '@fontsource-variable/fraunces/index.css';
import '@fontsource-variable/public-sans/index.css';
import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import { App } from './App.tsx';
import { openFirst } from './files.ts';
import { followPiece } from './follow-piece.ts';
import { keepPins } from './pin-storage.ts';
import './styles.css';

const root = document.getElementById('root');
if (!root) throw new Error('the page has no place for the app');
followPiece();
createRoot(root).render(
  <StrictMode>
    <App />
  </StrictMode>,
);
void openFirst();
void keepPins();
