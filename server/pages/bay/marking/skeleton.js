// The lines between marks: the body in two tones, lead and trail, and the club.

const SIDE = [["shoulder", "elbow"], ["elbow", "wrist"], ["shoulder", "hip"], ["hip", "knee"], ["knee", "ankle"], ["ankle", "toe"]];
const SIDES = ["lead", "trail"].flatMap((side) => SIDE.map(([a, b]) => [`${side}_${a}`, `${side}_${b}`, side]));
const ACROSS = [["lead_shoulder", "trail_shoulder", "middle"], ["lead_hip", "trail_hip", "middle"], ["head", "neck", "middle"]];
const CLUB = [["butt", "grip", "club"], ["grip", "clubhead", "club"]];
const GROUND = [["stick-0-0", "stick-0-1", "ground"], ["stick-1-0", "stick-1-1", "ground"]];
const LINES = [...GROUND, ...ACROSS, ...SIDES, ...CLUB];

/** The lines whose ends are both known: [{from, to, tone, guess}]. read: a point's mark, or nothing. */
export const linesOf = (read) => LINES.map(([a, b, tone]) => ({ from: read(a), to: read(b), tone })).filter(({ from, to }) => from && to)
  .map((line) => ({ ...line, guess: Boolean(line.from.found || line.to.found) }));
