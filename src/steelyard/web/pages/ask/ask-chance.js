// With which probability a limit is met, as the station has it to the third digit: Student's distribution by its normal
// stand-in (Wallace 1959, Annals of Mathematical Statistics 30, from memory; good to a thousandth from three degrees of
// freedom on), and the normal distribution by Abramowitz and Stegun 26.2.17.

/** @type {(t: number, dof: number) => number} */
const normal = (t, dof) =>
  dof > 1e5 ? t : (Math.sign(t) * (8 * dof + 1) * Math.sqrt(dof * Math.log1p((t * t) / dof))) / (8 * dof + 3);

const SURE = 1.6448536; // the normal quantile of 95 % on one side

// The degrees of freedom that a one-sided quantile of 95 % belongs to.
/** @type {(quantile: number) => number} */
export function freedom(quantile) {
  let low = Math.log(0.5),
    high = Math.log(1e6);
  for (let turn = 0; turn < 40; turn += 1) {
    const middle = (low + high) / 2;
    if (normal(quantile, Math.exp(middle)) < SURE) low = middle;
    else high = middle;
  }
  return Math.exp(high);
}

/** @type {(slack: { value: number, u: number }, dof: number) => number} */
export function chanceMet({ value, u }, dof) {
  if (!(u > 0)) return value >= 0 ? 1 : 0;
  const z = normal(value / u, dof),
    t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z >= 0 ? 1 - tail : tail;
}
