import { useMemo } from 'react';
import { kinship } from '../../physics/material/kinship.ts';
import type { Coat, Wood } from '../../piece/schema.ts';

/** Says when a top coat will look unnatural beside the bark and the bare wood; nothing when all is well. */
export function KinshipLine({ coat, wood }: { coat: Coat; wood: Wood }) {
  const { concern } = useMemo(() => kinship(coat.colorLab, wood), [coat.colorLab, wood]);
  return concern === null ? null : <p className="plain">{concern}</p>;
}
