// Runs before the first paint, so that a chosen look never flashes by, and before anybody can type.
try {
  const look = localStorage.getItem("look");
  if (look) document.documentElement.dataset.look = look;
} catch {
  /* storage may be barred; the device's own look stays */
}

// What is typed before the page's own script is there is newer than what the script brings back.
addEventListener(
  "input",
  ({ target }) => {
    if (target instanceof HTMLElement) target.dataset.early = "";
  },
  true,
);
