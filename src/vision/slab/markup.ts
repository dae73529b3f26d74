import { OutlineError } from '../../base/geometry/outline-error.ts';
import { LIMITS } from '../../base/limits.ts';

/** One tag of a marked-up text. */
export interface Tag {
  /** Without the prefix of its namespace. */
  readonly name: string;
  readonly closing: boolean;
  /** Has no content: nothing closes it. */
  readonly empty: boolean;
  readonly attributes: ReadonlyMap<string, string>;
}

const NAME = /[A-Za-z_][\w:.-]*/y;
const ATTRIBUTE = /\s+([\w:.-]+)\s*=\s*(?=["'])/y;
const SPACE = /\s*/y;
/** What is passed over: how it begins and how it ends. */
const SKIPPED = [
  ['<!--', '-->'],
  ['<![CDATA[', ']]>'],
  ['<?', '?>'],
] as const;

/**
 * The tags of a text as XML 1.0 (fifth edition, 3.1) writes them, one after the other; comments, character data and declarations are
 * passed over, as is a `<` that begins none of them. Looks at every character once or twice, however the text is made.
 * @throws OutlineError for tags nested too deep.
 */
export function* tagsOf(text: string): Generator<Tag> {
  let depth = 0;
  for (let at = text.indexOf('<'); at >= 0; at = text.indexOf('<', at)) {
    const skipped = SKIPPED.find(([begin]) => text.startsWith(begin, at));
    if (skipped) {
      const end = text.indexOf(skipped[1], at + skipped[0].length);
      if (end < 0) return;
      at = end + skipped[1].length;
    } else if (text.startsWith('<!', at)) at = afterDeclaration(text, at);
    else {
      const read = readTag(text, at);
      at = read.next;
      if (!read.tag) continue;
      if (read.tag.closing) depth = Math.max(0, depth - 1);
      else if (!read.tag.empty && ++depth > LIMITS.nesting) {
        throw new OutlineError(`the document is nested deeper than ${LIMITS.nesting} levels`);
      }
      yield read.tag;
    }
  }
}

/** Behind a document type, which may hold declarations between brackets. */
function afterDeclaration(text: string, at: number): number {
  const end = text.indexOf('>', at);
  const bracket = text.indexOf('[', at);
  if (end < 0) return text.length;
  if (bracket < 0 || bracket > end) return end + 1;
  const closed = text.indexOf(']', bracket);
  const after = closed < 0 ? -1 : text.indexOf('>', closed);
  return after < 0 ? text.length : after + 1;
}

function readTag(text: string, start: number): { readonly tag: Tag | null; readonly next: number } {
  const closing = text[start + 1] === '/';
  NAME.lastIndex = start + (closing ? 2 : 1);
  const name = NAME.exec(text)?.[0];
  if (name === undefined) return { tag: null, next: start + 1 };
  let at = NAME.lastIndex;
  const attributes = new Map<string, string>();
  for (;;) {
    ATTRIBUTE.lastIndex = at;
    const found = ATTRIBUTE.exec(text);
    if (!found) break;
    const value = ATTRIBUTE.lastIndex + 1;
    const end = text.indexOf(text[value - 1], value);
    if (end < 0) return { tag: null, next: text.length };
    attributes.set(found[1], text.slice(value, end));
    at = end + 1;
  }
  SPACE.lastIndex = at;
  SPACE.exec(text);
  at = SPACE.lastIndex;
  const empty = text[at] === '/';
  if (empty) at++;
  if (text[at] !== '>') return { tag: null, next: at };
  return { tag: { name: name.replace(/^.*:/, ''), closing, empty, attributes }, next: at + 1 };
}
