import type { ReactNode } from 'react';
import { Button, DropZone, FileTrigger } from 'react-aria-components';
import { inBackground } from '../faults/lazy-part.tsx';
import { droppedFiles } from '../files/photo-bytes.ts';
import { faultOf, type Task } from '../remote/task.ts';

interface OpenButtonProps {
  types: readonly string[];
  className?: string;
  isDisabled?: boolean;
  onFile: (file: File) => Promise<unknown>;
  children: ReactNode;
}

/** Picks a file and does something with it. */
export function OpenButton({ types, className = 'wide', isDisabled, onFile, children }: OpenButtonProps) {
  return (
    <FileTrigger
      acceptedFileTypes={types}
      onSelect={(files) => {
        if (files?.[0]) inBackground(onFile(files[0]));
      }}
    >
      <Button className={className} isDisabled={isDisabled}>
        {children}
      </Button>
    </FileTrigger>
  );
}

interface PhotoDropProps {
  className: string;
  /** Tells what went wrong with what was dropped. */
  of: Task;
  onPhoto: (file: File) => Promise<unknown>;
  children: ReactNode;
}

/** Where a photograph may be dropped. */
export function PhotoDrop({ className, of, onPhoto, children }: PhotoDropProps) {
  return (
    <DropZone
      className={className}
      getDropOperation={() => 'copy'}
      onDrop={(event) => {
        droppedFiles(event.items).then(
          ([file]) => onPhoto(file),
          (error: unknown) => of.tell({ fault: faultOf(error) }),
        );
      }}
    >
      {children}
    </DropZone>
  );
}
