// English: complete. One file a page, joined here.
import front from "./en/front.js";
import home from "./en/home.js";

export default { ...front, ...home };
