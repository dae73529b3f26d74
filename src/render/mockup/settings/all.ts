import type { MakeSetting, SettingName } from '../things/setting.ts';
import { bench } from './bench.ts';
import { cupSetting } from './cup.ts';
import { shelf } from './shelf.ts';
import { stand } from './stand.ts';
import { wall } from './wall.ts';

/** Invented places for a slab. */
export const SETTINGS: Readonly<Record<SettingName, MakeSetting>> = { stand, shelf, cup: cupSetting, wall, bench };
