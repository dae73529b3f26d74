import { useState } from 'react';
import { Button, FileTrigger, Label, Text, TextArea, TextField } from 'react-aria-components';
import { inBackground } from '../../faults/tell-fault.ts';
import { More } from '../../fields/More.tsx';
import { openOutline, pasteOutline } from './slab-photo-actions.ts';

/** The other way: an outline that has been drawn already. */
export function PasteOutline({ isDisabled }: { isDisabled: boolean }) {
  const [text, setText] = useState('');
  const read = (files: FileList | null) => {
    const file = files?.[0];
    if (file) inBackground(openOutline(file));
  };
  return (
    <More label="Instead: an outline already drawn">
      <TextField className="sp-paste" value={text} onChange={setText}>
        <Label>Path</Label>
        <TextArea rows={4} spellCheck="false" placeholder="M 0 0 H 240 V 180 H 0 Z" />
        <Text slot="description" className="hint">
          What stands in the d of an SVG path, in mm, or a whole SVG with its size.
        </Text>
      </TextField>
      <div className="button-row">
        <Button className="wide" isDisabled={isDisabled} onPress={() => inBackground(pasteOutline(text))}>
          Use this path
        </Button>
        <FileTrigger acceptedFileTypes={['.svg', 'image/svg+xml']} onSelect={read}>
          <Button className="wide" isDisabled={isDisabled}>
            Open an SVG…
          </Button>
        </FileTrigger>
      </div>
    </More>
  );
}
