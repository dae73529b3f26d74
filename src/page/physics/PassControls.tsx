import {
  degToRad,
  inchToMm,
  mmPerMinToMmPerS,
  mmPerSToMmPerMin,
  mmToInch,
  pitchMmToRowsPerInch,
  radToDeg,
} from '../../base/units.ts';
import { SCREENS } from '../../image/screens/screen-tone.ts';
import type { Pass } from '../../piece/schema.ts';
import { More } from '../fields/SheetDialog.tsx';
import { ToneControls } from '../fields/ToneControls.tsx';
import { ChoiceControl, LengthControl, PairSwitch, ValueControl } from '../fields/ValueControl.tsx';
import { usePieceStore, useSessionStore } from '../store/piece-store.ts';

function FeedControl({ feedMmPerS, onChange }: { feedMmPerS: number; onChange: (feedMmPerS: number) => void }) {
  const inches = useSessionStore((state) => state.units === 'inch');
  const show = (mmPerS: number) => (inches ? mmToInch(mmPerSToMmPerMin(mmPerS)) : mmPerSToMmPerMin(mmPerS));
  const read = (value: number) => mmPerMinToMmPerS(inches ? inchToMm(value) : value);
  return (
    <ValueControl
      label="Feed rate"
      hint="Slower burns deeper and takes longer."
      unit={inches ? 'in/min' : 'mm/min'}
      value={show(feedMmPerS)}
      onChange={(value) => onChange(read(value))}
      low={show(0.1)}
      high={show(10000)}
      sliderLow={show(mmPerMinToMmPerS(1000))}
      sliderHigh={show(mmPerMinToMmPerS(18000))}
      step={inches ? 5 : 100}
      digits={0}
    />
  );
}

/** The settings of one pass. */
export function PassControls({ pass, onChange }: { pass: Pass; onChange: (part: Partial<Pass>) => void }) {
  const screen = SCREENS.find(({ method }) => method === pass.screen);
  return (
    <>
      <ValueControl
        label="Light-end power"
        hint="At the picture’s lightest tone: has to get through the coat even where it is thick."
        unit="%"
        value={100 * pass.lightEndPower}
        onChange={(percent) => onChange({ lightEndPower: percent / 100 })}
        low={0}
        high={100}
        step={0.5}
        digits={1}
      />
      <ValueControl
        label="Dark-end power"
        hint="At the darkest tone: below the threshold it leaves the coat untouched."
        unit="%"
        value={100 * pass.darkEndPower}
        onChange={(percent) => onChange({ darkEndPower: percent / 100 })}
        low={0}
        high={100}
        step={0.5}
        digits={1}
      />
      <FeedControl feedMmPerS={pass.feedMmPerS} onChange={(feedMmPerS) => onChange({ feedMmPerS })} />
      <LengthControl
        label="Row pitch"
        hint={`${Math.round(pitchMmToRowsPerInch(pass.rowPitchMm))} rows per inch; dark strips stay between rows that are too far apart.`}
        valueMm={pass.rowPitchMm}
        onChange={(rowPitchMm) => onChange({ rowPitchMm })}
        lowMm={0.01}
        highMm={5}
        sliderLowMm={0.05}
        sliderHighMm={0.4}
        stepMm={0.001}
        digits={4}
      />
      <ChoiceControl
        label="Screen"
        value={pass.screen}
        choices={SCREENS.map(({ method, title, note }) => ({ id: method, label: title, note }))}
        onChange={(method) => onChange({ screen: method })}
      />
      <More label="More about this pass">
        {screen?.serpentine && (
          <PairSwitch
            label="Screened"
            value={pass.serpentine ? 'serpentine' : 'raster'}
            options={[
              { id: 'serpentine', label: 'Serpentine' },
              { id: 'raster', label: 'Raster' },
            ]}
            onChange={(id) => onChange({ serpentine: id === 'serpentine' })}
            hint="Serpentine turns round at each row: fewer worms of dots."
          />
        )}
        <ValueControl
          label="Row heading"
          hint="0 runs left to right; turns counter-clockwise."
          unit="°"
          value={radToDeg(pass.headingRad)}
          onChange={(deg) => onChange({ headingRad: degToRad(Math.min(360, Math.max(0, deg))) })}
          low={0}
          high={360}
          step={1}
          digits={1}
        />
        <PairSwitch
          label="Rows"
          value={pass.rows}
          options={[
            { id: 'two-way', label: 'Two-way' },
            { id: 'one-way', label: 'One-way' },
          ]}
          onChange={(rows) => onChange({ rows })}
          hint="Two-way is faster; one-way cannot be out of step."
        />
        <LengthControl
          label="Row offset error"
          hint="How far backward rows land from where they should: it frays edges."
          valueMm={pass.rowOffsetErrorMm}
          onChange={(rowOffsetErrorMm) => onChange({ rowOffsetErrorMm })}
          lowMm={-5}
          highMm={5}
          sliderLowMm={-0.5}
          sliderHighMm={0.5}
          stepMm={0.01}
          digits={2}
        />
        <LengthControl
          label="Focus offset"
          hint="Out of focus the spot is larger and weaker."
          valueMm={pass.focusOffsetMm}
          onChange={(focusOffsetMm) => onChange({ focusOffsetMm })}
          lowMm={-100}
          highMm={100}
          sliderLowMm={-8}
          sliderHighMm={8}
          stepMm={0.1}
        />
        <OwnTone pass={pass} onChange={onChange} />
      </More>
    </>
  );
}

function OwnTone({ pass, onChange }: { pass: Pass; onChange: (part: Partial<Pass>) => void }) {
  const pictureTone = usePieceStore((state) => state.piece.picture.tone);
  return (
    <>
      <PairSwitch
        label="Tones"
        value={pass.tone ? 'own' : 'picture'}
        options={[
          { id: 'picture', label: 'The picture’s' },
          { id: 'own', label: 'Its own' },
        ]}
        onChange={(id) => onChange({ tone: id === 'own' ? pictureTone : null })}
        hint="A pass of its own tones can touch only the lights."
      />
      {pass.tone && <ToneControls tone={pass.tone} onChange={(tone) => onChange({ tone })} />}
    </>
  );
}
