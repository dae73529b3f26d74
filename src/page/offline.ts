import { setProof } from './burn/proof-store.ts';

/** Keeps the page for times without a network, and says when a new version of it is there. */
export async function keepOffline(): Promise<void> {
  const { serviceWorker } = navigator;
  if (!import.meta.env.PROD || !serviceWorker) return;
  const registration = await serviceWorker.register('./offline.js');
  const look = () => {
    const { waiting } = registration;
    // The first one has no other to wait for.
    if (waiting && serviceWorker.controller) tellOf(waiting);
  };
  look();
  registration.addEventListener('updatefound', () => {
    registration.installing?.addEventListener('statechange', look);
  });
}

function tellOf(waiting: ServiceWorker): void {
  const take = () => {
    navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true });
    waiting.postMessage('go on');
  };
  setProof({
    notice: {
      text: 'A new version of Foreburn is ready. Your pieces stay as they are.',
      offers: [{ label: 'Load it now', onPress: take }],
    },
  });
}
