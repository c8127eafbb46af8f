// For the range at noon: black on white with thicker edges, whatever the device's colours, until it is turned off on this device.

const KEPT = "leadside.sunlight";

/** button: turns it on and off. */
export function sun(button) {
  const set = (on) => {
    document.documentElement.classList.toggle("sunlight", on);
    button.setAttribute("aria-pressed", String(on));
  };
  set(localStorage.getItem(KEPT) !== null);
  button.addEventListener("click", () => {
    const on = button.getAttribute("aria-pressed") !== "true";
    if (on) localStorage.setItem(KEPT, "on");
    else localStorage.removeItem(KEPT);
    set(on);
  });
}
