/** “About 18 minutes less than the full rectangle.” */
export function savingWords(savedS: number): string {
  const minutes = Math.round(savedS / 60);
  if (savedS < 10) return 'As long as the full rectangle: rows get shorter from their ends only.';
  const amount =
    savedS < 55
      ? `${10 * Math.round(savedS / 10)} seconds`
      : minutes < 60
        ? plural(minutes, 'minute')
        : `${plural(Math.floor(minutes / 60), 'hour')}${minutes % 60 ? ` ${plural(minutes % 60, 'minute')}` : ''}`;
  return `About ${amount} less than the full rectangle.`;
}

const plural = (count: number, word: string): string => `${count} ${word}${count === 1 ? '' : 's'}`;
