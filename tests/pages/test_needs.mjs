// What the bay asks for is what the measures read: the file it comes from is made anew and compared, and some of it is known.
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";

import { asked, CHECKPOINTS, FAULTS, VIEWS } from "../../server/pages/bay/catalogue.js";
import { build, check, finish } from "./support.mjs";

const file = readFileSync(new URL("../../server/pages/bay/needs.js", import.meta.url), "utf8");
check(file === execFileSync(join(build, "tests/pages_needs"), { encoding: "utf8" }), "needs.js is what tests/pages/needs.c makes of the measures (BUILD/tests/pages_needs > server/pages/bay/needs.js)");
check(JSON.stringify(asked("down_the_line", { fault: "across_the_line" })) === '{"address":["grip","clubhead"],"top":["grip","clubhead"]}', "across the line: grip and clubhead at address and at the top, from behind");
check(Object.keys(asked("face_on", { fault: "across_the_line" })).length === 0, "and nothing from the front");
check(JSON.stringify(asked("face_on", { fault: "hips_slide_away" }).arm_back) === '["trail_hip","lead_hip"]', "hips sliding: both hips when the arm is level");
check(!("arm_back" in asked("down_the_line", { both: false })) && "arm_back" in asked("down_the_line"), "what takes both views is asked for when both are filmed");
check(!("finish" in asked("down_the_line")), "nothing is asked for at the finish from behind");
const blind = FAULTS.filter((fault) => VIEWS.every((kind) => Object.keys(asked(kind, { fault })).length === 0));
check(FAULTS.length === 21 && blind.join() === "body_out_of_order", `each of ${FAULTS.length} faults can be asked about, but for what no picture shows (${blind})`);
check(VIEWS.every((kind) => Object.keys(asked(kind)).every((name, i, all) => i === 0 || CHECKPOINTS.indexOf(all[i - 1]) < CHECKPOINTS.indexOf(name))), "in the order of the swing");
finish("needs");
