import { useEffect } from 'react';
import { goTo } from './burn-actions.ts';
import { setBurn, useBurn } from './burn-store.ts';

/** The whole burn plays in this time, s. */
const PLAYS_S = 24;

/** Moves the burn on while it plays. */
export function usePlaying(): void {
  const playing = useBurn((state) => state.playing);
  useEffect(() => {
    if (!playing) return;
    let before = performance.now();
    let request = requestAnimationFrame(function step(now) {
      const { burn, seconds } = useBurn.getState();
      if (!burn) return;
      goTo(seconds + (burn.totalS * Math.min(250, now - before)) / 1000 / PLAYS_S);
      before = now;
      if (useBurn.getState().seconds >= burn.totalS) setBurn({ playing: false });
      else request = requestAnimationFrame(step);
    });
    return () => cancelAnimationFrame(request);
  }, [playing]);
}
