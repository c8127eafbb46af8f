// Deutsch: zweite Sprache, vollständig wie die erste. Ein Modul je Seite, hier zusammengefügt.
import front from "./de/front.js";
import home from "./de/home.js";
import mine from "./de/mine.js";
import bay from "./de/bay.js";
import report from "./de/report.js";
import care from "./de/care.js";
import consent from "./de/consent.js";
import desk from "./de/desk.js";
import trade from "./de/trade.js";

export default { ...front, ...home, ...mine, ...bay, ...report, ...care, ...consent, ...desk, ...trade };
