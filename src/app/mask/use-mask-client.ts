import { useEffect, useState } from 'react';
import { createMaskClient, type MaskClient } from './mask-client.ts';

/** The dialog's worker, while it is open. */
export function useMaskClient(): MaskClient | null {
  const [client, setClient] = useState<MaskClient | null>(null);
  useEffect(() => {
    const started = createMaskClient();
    setClient(started);
    return () => started.close();
  }, []);
  return client;
}
