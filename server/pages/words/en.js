// English: complete. One file a page, joined here.
import front from "./en/front.js";

export default { ...front };
