/** The only place where units are converted; everything else speaks mm, s, W, J, K, rad, and µm for films. */
export const MM_PER_INCH = 25.4;
const UM_PER_MM = 1000;

export const degToRad = (deg: number): number => (deg * Math.PI) / 180;
export const radToDeg = (rad: number): number => (rad * 180) / Math.PI;
export const mmPerMinToMmPerS = (mmPerMin: number): number => mmPerMin / 60;
export const mmPerSToMmPerMin = (mmPerS: number): number => mmPerS * 60;
export const inchToMm = (inch: number): number => inch * MM_PER_INCH;
export const mmToInch = (mm: number): number => mm / MM_PER_INCH;
export const pitchMmToRowsPerInch = (pitchMm: number): number => MM_PER_INCH / pitchMm;
export const umToMm = (um: number): number => um / UM_PER_MM;
export const percentToRatio = (percent: number): number => percent / 100;
export const ratioToPercent = (ratio: number): number => ratio * 100;
export const sToUs = (s: number): number => s * 1e6;
export const usToS = (us: number): number => us / 1e6;
export const hzToKhz = (hz: number): number => hz / 1000;
export const khzToHz = (khz: number): number => 1000 * khz;
