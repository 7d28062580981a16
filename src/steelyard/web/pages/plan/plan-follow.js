// Which of the planned drafts are taken. Another draft than planned is no error: it stands among the others.

export const safety =
  "Chock the wheels; release the brakes only on level ground. Nobody under or between vehicles, nobody near a jack.";

// plan: as kept. drafts: every known one in order; those that only wait on this device have no number.
/** @type {(plan: Page.KeptPlan, drafts: Page.Draft[]) => Page.Followed} */
export function follow(plan, drafts) {
  const planned = plan.answer.drafts;
  /** @type {Page.Followed} */
  const { done, others } = { done: [], others: [], next: null };
  for (const draft of drafts) {
    const { readings } = draft;
    if ((draft.number ?? Infinity) <= plan.after || !readings) continue;
    const at = planned.findIndex((one, index) => !done.some((item) => item.at === index) && matches(one, draft));
    if (at < 0) {
      others.push(draft);
      continue;
    }
    const swapped = Object.entries(planned[at].placements)
      .filter(([place, pad]) => readings[place][0] !== pad)
      .map(([place]) => place);
    done.push({ at, draft, swapped });
  }
  const next = planned.findIndex((_, index) => !done.some((item) => item.at === index));
  return { done, others, next: next < 0 ? null : next };
}

/** @type {(planned: Api.PlannedDraft, draft: Page.Draft) => boolean} */
function matches(planned, draft) {
  return planned.state === draft.state && Object.keys(planned.placements).every((place) => draft.readings?.[place]);
}
