import { Component, type ReactNode } from 'react';
import { Button } from 'react-aria-components';
import { renewParts } from '../faults/lazy-part.tsx';
import { savePieceFile } from '../store/keeping.ts';
import './section.css';

interface SectionProps {
  /** As it begins a sentence: "The mask". */
  name: string;
  /** Where the words stand: a class that has the place of what failed. */
  place?: string;
  /** What it means in words of its own; null for a fault that is not known here. */
  explain?: (fault: Error) => string | null;
  children: ReactNode;
}

interface SectionState {
  readonly fault: Error | null;
}

/** A part of the page that fails by itself: the rest stays, and the maker can try again or save the piece. */
export class Section extends Component<SectionProps, SectionState> {
  override state: SectionState = { fault: null };

  static getDerivedStateFromError(fault: unknown): SectionState {
    return { fault: fault instanceof Error ? fault : new Error(String(fault)) };
  }

  private readonly tryAgain = (): void => {
    renewParts();
    this.setState({ fault: null });
  };

  override render(): ReactNode {
    const { fault } = this.state;
    const { name, place = '', explain, children } = this.props;
    if (!fault) return children;
    return (
      <div className={`section-fault ${place}`} role="alert">
        <h2>{name} cannot be shown</h2>
        <p>{explain?.(fault) ?? `Something went wrong there (${fault.message}). Your piece is as it was.`}</p>
        <div className="section-fault-ways">
          <Button className="wide" onPress={this.tryAgain}>
            Try again
          </Button>
          <Button className="quiet" onPress={savePieceFile}>
            Save the piece as a file
          </Button>
        </div>
      </div>
    );
  }
}
