import { Button } from 'react-aria-components';
import { registrationSteps } from '../../../physics/bed/bed.ts';
import {
  MAKER_WORDS,
  type MakerWords,
  RESCUE_ODDS,
  type RescuePlan,
  WORDS_TEXT,
} from '../../../studies/rescue/propose.ts';
import type { RescueState } from '../../../studies/rescue/rescue-scene.ts';
import { shareIn, tellRescue } from '../../../studies/rescue/tell.ts';
import { percent } from '../../burn/proof-store.ts';
import { inBackground, lazyPart } from '../../faults/lazy-part.tsx';
import { BriefCautions } from '../../fields/BriefCautions.tsx';
import { More } from '../../fields/SheetDialog.tsx';
import { Study } from '../../fields/TaskProgress.tsx';
import { ChoiceControl, PairSwitch, SwitchControl, ValueControl } from '../../fields/ValueControl.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { comparing, setBurnedPhoto, useBurnedPhotoStore } from '../../vision/burned/burned-photo.ts';
import { addRescuePass, findRescue, rescuing, setRescue, useRescueStore } from './rescue.ts';
import '../study.css';

const WORDS_NOTES: Readonly<Record<MakerWords, string>> = {
  blotchy: 'Light in places, dark in others.',
  'just-marks': 'The top coat is hardly touched.',
  dull: 'Even, but a veil of the top coat lies over it.',
  scorched: 'The undercoat has gone yellow or brown.',
};

const STARTS = [
  { id: 'proof' as const, label: 'As its proof shows', note: 'The burned slab looks like the proof on the table.' },
  ...MAKER_WORDS.map((id) => ({ id, label: WORDS_TEXT[id], note: WORDS_NOTES[id] })),
];

/** The pass that saves a piece which came out too dark. */
export function RescueSection() {
  const wishes = useRescueStore((state) => state.wishes);
  const proposal = useRescueStore((state) => state.proposal);
  const askedFor = useRescueStore((state) => state.askedFor);
  const askedWith = useRescueStore((state) => state.askedWith);
  const piece = usePieceStore((state) => state.piece);
  const wish = (part: Partial<typeof wishes>) => setRescue({ wishes: { ...wishes, ...part } });
  const stale = proposal !== null && (askedFor !== piece || askedWith !== wishes);
  return (
    <div className="study">
      <p className="plain">
        For a slab that is burned and came out too dark: one more pass over the same dots. It takes all passes of this
        piece as burned.
      </p>
      <ChoiceControl
        label="How it came out"
        value={wishes.words ?? 'proof'}
        choices={STARTS}
        onChange={(id) => wish({ words: id === 'proof' ? null : id })}
      />
      <BurnedPhotoButton />
      <ValueControl
        of={RESCUE_ODDS}
        hint="Surer takes more power, and comes closer to scorching. 90 % allows for coats and source that are not known well; 50 % is what usually works."
        value={wishes.odds}
        onChange={(odds) => wish({ odds })}
      />
      <PairSwitch
        label="Dark areas"
        value={wishes.darks}
        options={[
          { id: 'leave', label: 'Leave alone' },
          { id: 'open', label: 'Open' },
        ]}
        onChange={(darks) => wish({ darks })}
        hint="Opening them takes a little of the top coat off there too."
      />
      <SwitchControl
        label="Only where it is needed"
        hint="Burns where dark residue is to be expected and 3 mm around; saves time if that is in one part of the picture."
        value={wishes.onlyWhere}
        onChange={(onlyWhere) => wish({ onlyWhere })}
      />
      <Study of={rescuing} label="Search" asks="Find the rescuing pass" onAsk={findRescue}>
        {stale && <p className="small-print">Piece or wishes have changed since: find it again.</p>}
      </Study>
      {proposal && !stale && (
        <section className="study-result" aria-label="The rescuing pass">
          {tellRescue(proposal, askedWith ?? wishes).map((line, i) => (
            <p key={line} className={i === 0 ? 'verdict' : 'plain'}>
              {line}
            </p>
          ))}
          {proposal.plan && (
            <>
              <RescueFigures before={proposal.before} plan={proposal.plan} />
              <BriefCautions />
              <div className="suggestion-actions">
                <Button onPress={() => inBackground(addRescuePass())}>Add this pass</Button>
                <ShowChange />
              </div>
              <ChangeLegend />
              <More label="How to get it onto the same dots">
                <ol className="steps">
                  {registrationSteps(piece).map((line) => (
                    <li key={line}>{line}</li>
                  ))}
                </ol>
              </More>
            </>
          )}
        </section>
      )}
    </div>
  );
}

function ShowChange() {
  const showsChange = useRescueStore((state) => state.showsChange);
  return (
    <Button className="quiet" onPress={() => setRescue({ showsChange: !showsChange })}>
      {showsChange ? 'Show the proof' : 'Show the change'}
    </Button>
  );
}

function ChangeLegend() {
  const showsChange = useRescueStore((state) => state.showsChange);
  return showsChange ? (
    <p className="small-print">
      The stronger the blue, the more the pass changes there; full blue is a difference that nobody overlooks (ΔE00 20).
    </p>
  ) : null;
}

/** Loaded once it is wanted: most visits do without. */
const BurnedPhotoDialog = lazyPart(() =>
  import('../../vision/burned/BurnedPhotoDialog.tsx').then((module) => module.BurnedPhotoDialog),
);

/** Corrects the proof by a photograph of the piece as it came out. */
function BurnedPhotoButton() {
  const open = useBurnedPhotoStore((state) => state.open);
  const told = comparing.use((state) => state.said);
  const hasPhoto = usePieceStore((state) => state.photo !== null);
  return (
    <>
      <Button
        className="wide"
        isDisabled={!hasPhoto}
        onPress={() => {
          comparing.tell({ fault: null, said: null });
          setBurnedPhoto({ open: true });
        }}
      >
        From a photograph of it…
      </Button>
      <div aria-live="polite">{told && <p className="plain">{told}</p>}</div>
      {open && <BurnedPhotoDialog />}
    </>
  );
}

const ROWS: readonly { label: string; text: (state: RescueState) => string }[] = [
  { label: 'Left dark', text: ({ uncleared }) => shareIn(uncleared) },
  { label: 'Residue', text: ({ residueUm }) => `${residueUm.middle.toFixed(2)} µm` },
  { label: 'Scorched', text: ({ scorched }) => percent(scorched.middle) },
  { label: 'Clears', text: ({ clears }) => `${Math.round(100 * clears)} %` },
];

/** Before and after the pass, and the powers to try first. */
function RescueFigures({ before, plan }: { before: RescueState; plan: RescuePlan }) {
  return (
    <>
      <table className="study-table">
        <thead>
          <tr>
            <td />
            <th scope="col">before</th>
            <th scope="col">after</th>
          </tr>
        </thead>
        <tbody>
          {ROWS.map(({ label, text }) => (
            <tr key={label}>
              <th scope="row">{label}</th>
              <td>{text(before)}</td>
              <td>{text(plan.after)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <table className="study-table study-ladder">
        <caption>Try on an edge of the picture first, from the top; stop at the first that clears.</caption>
        <tbody>
          {plan.ladder.map(({ power, words }) => (
            <tr key={power} className={power === plan.pass.lightEndPower ? 'study-proposed' : undefined}>
              <th scope="row">{Number((100 * power).toFixed(2))} %</th>
              <td>{words}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
