// Deutsch: zweite Sprache. Was hier fehlt, steht auf Englisch da.
import front from "./de/front.js";

export default { ...front };
