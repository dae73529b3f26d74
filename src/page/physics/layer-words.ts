import type { Coat } from '../../piece/schema.ts';

type Layered = Pick<Coat, 'dryThicknessUm' | 'layers' | 'usualLayerUm'>;

/** What to say when the layers of a coat are thicker or thinner than its maker calls usual; null when they are not. */
export function layerWords({ dryThicknessUm, layers, usualLayerUm: [low, high] }: Layered): string | null {
  const layerUm = dryThicknessUm / layers;
  if (layerUm <= 0 || (layerUm >= low && layerUm <= high)) return null;
  const each = layers === 1 ? 'The one layer' : 'Each layer';
  const usual = `${each} is ${plain(layerUm)} µm; its maker calls ${plain(low)} to ${plain(high)} µm usual.`;
  return layerUm > high
    ? `${usual} Thick layers skin over, stay soft underneath and burn badly: lay more, thinner ones, and let each cure.`
    : `${usual} Layers as thin as that may not close into a film and dry rough: lay fewer, fuller ones.`;
}

const plain = (um: number): string => String(Number(um.toFixed(um < 10 ? 1 : 0)));
