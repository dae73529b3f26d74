import { create } from 'zustand';

interface KeepingState {
  /** Id of the piece that is open. */
  readonly id: string;
  /** Why the latest changes are not kept in this browser; null while all is well. */
  readonly fault: string | null;
}

export const useKeeping = create<KeepingState>()(() => ({ id: '', fault: null }));
export const setKeeping = useKeeping.setState;
