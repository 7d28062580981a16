// Runs before the first paint, so that a chosen look never flashes by.
try {
  const look = localStorage.getItem("look");
  if (look) document.documentElement.dataset.look = look;
} catch {
  /* storage may be barred; the device's own look stays */
}
