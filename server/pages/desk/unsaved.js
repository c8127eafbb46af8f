// What was typed and not saved: leaving it behind is asked about, by the address as by closing the window.

let unsaved = () => false;

/** changed: says whether there is something; until the next room sets its own. */
export const keepUnsaved = (changed) => { unsaved = changed; };

export const isUnsaved = () => unsaved();

window.addEventListener("beforeunload", (event) => { if (unsaved()) event.preventDefault(); });
