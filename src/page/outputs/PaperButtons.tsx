import { useState } from 'react';
import { Button } from 'react-aria-components';
import type { Paper } from '../../outputs/paper/paper.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { savePaper } from './save-paper.ts';

interface PaperButtonsProps {
  /** What the paper is called: “bench sheet”. */
  what: string;
  fileName: string;
  isDisabled: boolean;
  make: () => Promise<Paper>;
}

/** Saves a paper to print or to send; says what is going on and what went wrong. */
export function PaperButtons({ what, fileName, isDisabled, make }: PaperButtonsProps) {
  const [state, setState] = useState<{ busy: 'pdf' | 'html' | null; fault: string | null }>({
    busy: null,
    fault: null,
  });
  const save = async (kind: 'pdf' | 'html') => {
    setState({ busy: kind, fault: null });
    try {
      await savePaper(await make(), fileName, kind);
      setState({ busy: null, fault: null });
    } catch (error) {
      setState({ busy: null, fault: error instanceof Error ? error.message : String(error) });
    }
  };
  const label = (kind: 'pdf' | 'html', idle: string) => (state.busy === kind ? 'Setting the page…' : idle);
  return (
    <>
      <div className="button-pair">
        <Button isDisabled={isDisabled || state.busy !== null} onPress={() => inBackground(save('pdf'))}>
          {label('pdf', `Save the ${what}, PDF`)}
        </Button>
        <Button
          className="quiet"
          isDisabled={isDisabled || state.busy !== null}
          onPress={() => inBackground(save('html'))}
        >
          {label('html', 'as web page')}
        </Button>
      </div>
      {state.fault && (
        <p className="warning" role="alert">
          {state.fault}
        </p>
      )}
    </>
  );
}
