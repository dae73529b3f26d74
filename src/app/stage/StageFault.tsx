import { Component, type ReactNode } from 'react';

interface State {
  readonly fault: Error | null;
}

/** Catches what the 3D view cannot do, so that the rest of the page stays: proofs are computed and saved without it. */
export class StageFault extends Component<{ children: ReactNode }, State> {
  override state: State = { fault: null };

  static getDerivedStateFromError(fault: Error): State {
    return { fault };
  }

  override render(): ReactNode {
    if (!this.state.fault) return this.props.children;
    return (
      <div className="stage-fault" role="alert">
        <h2>The slab cannot be shown in 3D here</h2>
        <p>
          The browser gives the page no WebGL 2 ({this.state.fault.message}). Turn on hardware acceleration or use
          another browser. Proofs are computed all the same: their numbers stand on the strip, and Hand over saves them
          as pictures.
        </p>
      </div>
    );
  }
}
