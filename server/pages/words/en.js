// English: complete. One file a page, joined here.
import front from "./en/front.js";
import home from "./en/home.js";
import mine from "./en/mine.js";
import bay from "./en/bay.js";
import report from "./en/report.js";
import care from "./en/care.js";
import consent from "./en/consent.js";
import desk from "./en/desk.js";
import trade from "./en/trade.js";

export default { ...front, ...home, ...mine, ...bay, ...report, ...care, ...consent, ...desk, ...trade };
