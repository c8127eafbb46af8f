// English: complete. One file a page, joined here.
import front from "./en/front.js";
import home from "./en/home.js";
import bay from "./en/bay.js";
import desk from "./en/desk.js";
import trade from "./en/trade.js";

export default { ...front, ...home, ...bay, ...desk, ...trade };
