// The button "My sign-in" in the head of a page. What it opens is fetched when it is wanted.

import { announce } from "./dom.js";
import { sayProblem } from "./words.js";

const open = () => import("./mine.js").then(({ openMine }) => openMine());

document.querySelector("#mine").addEventListener("click", () => {
  open().catch(() => announce(sayProblem({ slug: "offline" }), { urgent: true }));
});
