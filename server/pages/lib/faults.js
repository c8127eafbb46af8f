// What a fault is called, and that it is contested where the house standard says so.

import { say } from "./words.js";

/** fault: its code; evidence: as the report, the fix or the homework says it. */
export const faultName = ({ fault, evidence }) => (evidence === "contested" ? say("fault.contested", { fault: say(`fault.${fault}`) }) : say(`fault.${fault}`));
