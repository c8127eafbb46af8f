// Deutsch: zweite Sprache. Was hier fehlt, steht auf Englisch da.
import front from "./de/front.js";
import home from "./de/home.js";
import desk from "./de/desk.js";

export default { ...front, ...home, ...desk };
