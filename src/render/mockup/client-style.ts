/** The look of the client's file: the picture nearly fills the page, the words stand quietly below. */
export const CLIENT_STYLE = `
:root { color-scheme: light; --paper: #f3f0eb; --ink: #2c2722; --quiet: #6a625a; --line: #d9d2c8; --accent: #2b6279; }
* { box-sizing: border-box; }
body { margin: 0; background: var(--paper); color: var(--ink); font: 17px/1.55 Georgia, "Iowan Old Style", "Times New Roman", serif; }
main { max-width: 1180px; margin: 0 auto; padding: clamp(0px, 2.4vw, 28px) clamp(0px, 2.4vw, 28px) 56px; }
main > figure { position: relative; margin: 0; aspect-ratio: 4 / 3; max-height: 82vh; width: 100%; overflow: hidden; background: #8e8982; border-radius: 3px; }
#still, #picture { position: absolute; inset: 0; width: 100%; height: 100%; }
#still { object-fit: cover; }
#picture { display: none; touch-action: none; cursor: grab; outline-offset: -4px; }
#picture:active { cursor: grabbing; }
.live #picture { display: block; }
.live #still { display: none; }
.hands { display: none; }
.live .hands { display: flex; flex-wrap: wrap; gap: 14px 36px; align-items: end; padding: 18px clamp(18px, 2vw, 4px) 0; font: 15px/1.4 system-ui, "Segoe UI", sans-serif; }
fieldset { border: 0; margin: 0; padding: 0; display: flex; flex-wrap: wrap; gap: 6px; }
legend { padding: 0; margin-bottom: 6px; color: var(--quiet); font-size: 14px; }
fieldset label { position: relative; }
fieldset input { position: absolute; inset: 0; opacity: 0; width: 100%; height: 100%; margin: 0; cursor: pointer; }
fieldset span { display: block; padding: 9px 15px; border: 1px solid var(--line); border-radius: 99px; background: #fbf9f6; }
fieldset input:checked + span { background: var(--ink); border-color: var(--ink); color: #fff; }
:focus-visible, fieldset input:focus-visible + span { outline: 3px solid var(--accent); outline-offset: 2px; }
.lamp { display: flex; flex-wrap: wrap; gap: 14px 26px; }
.lamp label { display: grid; gap: 8px; color: var(--quiet); font-size: 14px; }
input[type="range"] { width: 190px; height: 24px; margin: 0; accent-color: var(--accent); }
.how { flex-basis: 100%; margin: 0; color: var(--quiet); font-size: 14px; }
.words { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 26rem), 1fr)); gap: 8px 56px; align-items: start; padding: 34px clamp(18px, 2vw, 4px) 0; }
.words > div { max-width: 40rem; }
h1 { margin: 0 0 10px; font-weight: 500; font-size: clamp(28px, 4vw, 40px); line-height: 1.15; overflow-wrap: anywhere; }
ul { list-style: none; margin: 0 0 22px; padding: 0; color: var(--quiet); }
p { margin: 0 0 18px; }
.band { display: grid; grid-template-columns: 1fr 1fr; gap: 16px; margin: 6px 0 10px; }
.between { color: var(--quiet); font-size: 15px; }
.band figure { margin: 0; }
.band img { display: block; width: 100%; border-radius: 3px; }
figcaption { padding-top: 6px; color: var(--quiet); font-size: 15px; }
@media print { .hands, .live .hands { display: none; } .live #picture { display: block; } body { background: #fff; } }
`;
