// What the scripts of the pages share, for the type checker alone; nothing of this is sent to a browser. The answers of the
// station are in api.d.ts.

declare namespace Page {
  /** What the station answered, and with which status. */
  interface Answer<T> {
    status: number;
    data: T;
  }

  /** What was typed into a field: the number, or null and why there is none; `readings` are both where it could be two. */
  interface Typed {
    value: number | null;
    words: string;
    empty: boolean;
    readings?: string[];
  }

  type Mark = "within" | "undecided" | "outside" | "open";

  /**
   * A verdict as a sign says it. `met`: probability that the limit is met; `room`: positive where there is some; `half`: half
   * width of the 95 % interval; `least`: whether the limit is the least that is allowed.
   */
  interface Verdict {
    label: string;
    mark: Mark;
    met: number | null;
    room: number | null;
    half: number | null;
    value: number | null;
    limit: number;
    least: boolean;
    unit: string;
    contested?: boolean;
    advice?: string;
  }

  type Field = HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement;

  /** What was left on this device, with the time when it was typed [ms]. */
  type Left<T> = T & { when: number };

  /** The name of a finding or of a verdict, taken apart. */
  interface FindingName {
    states: string[];
    owner: string;
    kind: string;
    place?: string;
    of?: string;
    limit?: string;
  }

  // ---- a weigh day ----

  /** By place the instrument under it, and what that showed. */
  type Readings = Record<string, [instrument: string, value: number]>;

  /** A draft, of the station or still on this device; one that only the stream of events told of has no readings yet. */
  interface Draft {
    key: string;
    number: number | null;
    state: string;
    label?: string;
    note?: string;
    how?: string;
    readings?: Readings;
  }

  /** A draft of the station as the page came with it. */
  interface KnownDraft extends Draft {
    number: number;
    readings: Readings;
    /** What its readings count for by now; left out: what they showed. */
    counts?: Record<string, number>;
    /** Why it was put away, and what counts again once it is brought back. */
    away?: { reason: string; values: Record<string, number> } | null;
  }

  /** What is sent to keep a draft. */
  interface DraftBody {
    key: string;
    state: string;
    at: string;
    readings: Readings;
    label?: string;
    note?: string;
    placement?: string;
    unsupported?: "ground";
    blocks?: string[];
  }

  interface Couple {
    weight_distribution?: unknown;
  }

  /** A state as the file has it. */
  interface StateTable {
    vehicles: string[];
    couple?: Couple | Couple[];
    cargo?: string[];
    change?: Record<string, { level?: unknown }>;
  }

  type StateBody = StateTable & { key: string; name: string };

  /** A state at the pads: `rig` is the key of its drawing, `made` that of the body that waits on this device. */
  interface State {
    rig: string;
    said: string;
    table: StateTable;
    made?: string;
  }

  interface Instrument {
    division: number;
    capacity: number | null;
    kind: string;
  }

  /** A plan as it was kept, or as it was just answered to a device that only looks: without a version then. */
  interface KeptPlan {
    version: number | null;
    after: number;
    question: PlanAsked;
    answer: Api.Plan;
  }

  interface PlanAsked {
    pads: string[];
    want: string[];
    single?: boolean;
    planks?: boolean;
    blocks?: number | string[];
    coupling_platform?: string;
    seconds?: number;
  }

  interface Links {
    events: string;
    history: string;
  }

  /** The data of the page of the pads. */
  interface Pads {
    day: string;
    seq: number;
    unit: string;
    mayWeigh: boolean;
    live: boolean;
    links: Links &
      Record<
        "drafts" | "corrections" | "states" | "findings" | "photographs" | "believe" | "plan" | "planned" | "bench",
        string
      >;
    /** Titles of the vehicles. */
    vehicles: Record<string, string>;
    /** Names of the states for people; a page that no station has filled has none. */
    called?: Record<string, string>;
    /** Channels of connected instruments that are no pad of this day. */
    unplaced: string[];
    state: string;
    states: Record<string, State>;
    ratings: Record<string, number>;
    instruments: Record<string, Instrument>;
    cargo: Record<string, { on: string; tank: boolean }>;
    drafts: KnownDraft[];
    plan: KeptPlan | null;
  }

  /** The data of the page that plans the day. */
  interface Plan {
    day: string;
    seq: number;
    unit: string;
    mayWeigh: boolean;
    count: number;
    drafts: KnownDraft[];
    links: Links & Record<"plan" | "progress" | "enough" | "reached" | "pads", string>;
    vehicles: Record<string, string>;
    called: Record<string, string>;
    states: Record<string, { rig: string; hitched: boolean }>;
    kept: KeptPlan | null;
    standing: string[];
  }

  /** The data of the page that learns the rig. */
  interface Learn {
    day: string;
    unit: string;
    mayWeigh: boolean;
    links: Record<"recording" | "rows" | "row" | "finish" | "logs" | "teach" | "simulation" | "yard", string>;
    pads: string[];
    titles: Record<string, string>;
    called: Record<string, string>;
    states: Record<string, { place: string; name: string; pad: string }[]>;
  }

  // ---- the queue on this device ----

  /** What every kept thing has: `after` is the key of what goes first, `refused` why the station did not take it. */
  interface Queued {
    day: string;
    key: string;
    method: string;
    url: string;
    after?: string;
    made?: number;
    refused?: string;
    tries?: number;
  }

  interface QueuedDraft extends Queued {
    what: "draft";
    json: DraftBody;
    blob?: undefined;
  }

  interface QueuedState extends Queued {
    what: "state";
    json: StateBody;
    blob?: undefined;
    shown: string;
    like: string;
    said: string;
  }

  /** What was asked, kept as a state of the day. */
  interface QueuedScenario extends Queued {
    what: "scenario";
    json: { key: string; name: string };
    blob?: undefined;
    shown: string;
  }

  interface QueuedCorrection extends Queued {
    what: "correction";
    json: {
      key: string;
      draft: number | string;
      reason: string;
      at: string;
      place?: string;
      value?: number;
      label?: string;
    };
    blob?: undefined;
    /** What it does, in words. */
    shown?: string;
    /** The draft that is put away, brought back or named anew by it. */
    of?: string;
  }

  /** `place`: of the reading whose display it shows; without it the whole draft. */
  interface QueuedPhoto extends Queued {
    what: "photo";
    json?: undefined;
    blob: Blob;
    place?: string | null;
    when?: number;
  }

  /** A photo that goes with the next draft. `refused`: it came back with a draft that the station did not take. */
  interface TakenPhoto {
    place: string | null;
    blob: Blob;
    when: number;
    refused?: boolean;
  }

  type Item = QueuedDraft | QueuedState | QueuedScenario | QueuedCorrection | QueuedPhoto;

  /** A thing that is in the queue: `order` is its place there. */
  type Waiting<T = Item> = T & { order: number };

  /** Why the station does not take what waits: a word for the lamp, and what to do about it. */
  interface Hindrance {
    kind: string;
    short: string;
    words: string;
  }

  /** What became of one thing of the queue. */
  interface Sent<T = Item> {
    item: T;
    answer?: Answer<{ number?: number; seq?: number; id?: string } | null>;
    error?: unknown;
  }

  interface QueueNews {
    items: Waiting[];
    /** The days that this device began, whether the station has them or not. */
    rigs: (UnsentRig | MadeRig)[];
    away: Hindrance | null;
    sent: Sent | null;
  }
}

declare namespace Page {
  /** What the stream of events tells of. */
  interface LiveEvents {
    loads: { channels: Record<string, Load> };
    draft: { key: string; number: number; title: string; state: string; device?: string };
    stance: Api.Stance;
    entry: { key: string; kind: string };
    findings: unknown;
    plan: unknown;
    store: { there: boolean; error: string | null };
  }
  type LiveKind = keyof LiveEvents;

  type LiveHooks = { [K in LiveKind]?: (data: LiveEvents[K]) => void } & Record<
    "missed" | "silent" | "gone" | "back",
    () => void
  >;

  /** What an instrument showed last. */
  interface Load {
    value: number | null;
    steady: boolean;
    trouble: string | null;
    short?: string;
    why?: string | null;
    /** How long ago it was said, in seconds. */
    age?: number;
  }

  /** The same with the moment at which it was said, by this device's clock [ms]. */
  type LiveLoad = Load & { at: number };

  /** What stands at a wheel of the drawing: `wrong` is why no display can show it. */
  interface Shown {
    value: number | null;
    pad: string;
    moving?: boolean;
    /** For how many seconds nothing was heard of it; 0 where it is what the pad says now. */
    old?: number;
    trouble?: string | null;
    wrong?: string | null;
  }
}

// ---- the page that asks the rig ----

declare namespace Page {
  /** How a trailer is hitched on against the state; the way it has in the file where nothing says otherwise. */
  interface Hitch {
    towing: string;
    at: string;
    trailer: string;
  }

  /** What is hitched, unhitched and tensioned against the state: bars by trailer, "none" or as in another state. */
  interface Coupled {
    hitch: Hitch[];
    unhitch: string[];
    bars: Record<string, "none" | { as: string }>;
  }

  interface AskState {
    said: string;
    vehicles: string[];
    hitched: string[];
    taken: string[];
    bars: string[];
    weighed: boolean;
  }

  /** The data of the page that asks the rig. */
  interface Ask {
    day: string;
    unit: string;
    length: string;
    mayWeigh: boolean;
    state: string;
    called: Record<string, string>;
    influence: Api.Influence;
    standing: string[];
    tape: number;
    step: number;
    links: Record<string, string>;
    states: Record<string, AskState>;
    trailers: Record<string, string>;
    couplings: { towing: string; at: string; title: string }[];
    cargo: string[];
    couple: string;
    titles: Record<string, string>;
  }

  type Axis = "x" | "y";

  /** A thing where it stands now; `level` is how full a tank is, null for everything else. */
  interface Stowed {
    on: string;
    aboard: boolean;
    mass: number;
    x: number;
    y: number;
    level: number | null;
    /** The name for people of what was put on here, where it is not its id. */
    title?: string;
  }
  type Cargo = Map<string, Stowed>;

  /** Everything that an act can change: the state, how it is coupled, and what of its cargo stands otherwise. */
  interface Asked {
    state: string;
    coupled: Coupled;
    read: [string, Stowed][];
  }

  /** What is kept on this device: the same, with what can be undone and done again. */
  type Kept = Asked & { past?: Asked[]; next?: Asked[] };

  interface ActHooks {
    restore(asked: Asked): Promise<boolean>;
    tell(words: string): void;
    keep(): void;
  }

  /** What is proposed: where a thing stands, where it goes, null where it leaves, and the figure beside the arrow. */
  interface Move {
    on: string;
    from: [number, number];
    to: [number, number] | null;
    words: string;
  }

  /** A figure with its standard uncertainty and its interval; all null where it is not determined. */
  type Figure =
    | { value: number; u: number; half: number; low: number; high: number }
    | { value: null; u: null; half: null; low: null; high: null };

  type Predicted = Figure & { label: string; contested: boolean };

  /** By their names: what a state would weigh, and what that means. */
  interface Prediction {
    quantities: Map<string, Predicted>;
    verdicts: Map<string, Verdict>;
  }

  type Answered = Prediction & { cautions: string[] };

  /** A thing as the plan draws it. */
  interface Drawn extends Stowed {
    name: string;
    title: string;
    said: string;
    moved: boolean;
    fixed: boolean;
  }

  interface PlanHooks {
    where(name: string): Stowed | undefined;
    onMove(name: string, x: number, y: number, done: boolean): void;
    onChoose(name: string): void;
    onOff(name: string): void;
    onTap(vehicle: string, x: number, y: number): void;
  }

  /** What the page of questions lends to each of them. */
  interface Asker {
    day: Ask;
    plan: import("../src/steelyard/web/pages/ask/plan/ask-plan.js").Plan;
    now: {
      state: string;
      model: import("../src/steelyard/web/pages/ask/ask-model.js").Model;
      first: Cargo;
      cargo: Cargo;
    };
    wanted(): Api.ScenarioQuestion;
    touched(): boolean;
    titleOf(name: string): string;
    fixed(name: string): boolean;
    show: typeof import("../src/steelyard/web/pages/shell/number.js").formatNumber;
    make: typeof import("../src/steelyard/web/pages/shell/dom.js").make;
    apply(actions: Api.RemedyAction[]): void;
    paint(): void;
    labelOf(id: string): string;
    hitched(): string[];
    worst(): Verdict | null;
    used(form: ParentNode): void;
  }

  /** The fields of a form by their names. */
  type Given = Record<string, string | number | boolean>;

  /** What a fragment's own script may say and do; see asking.js. */
  interface AskScript {
    waits?: string;
    wait?: number;
    body?(given: Given): object;
    show?(data: unknown, given: Given): Node[];
    begin?(): void;
    settled?(): void;
    tap?(vehicle: string, x: number, y: number): void;
  }
}

declare namespace Page {
  /** What goes to /whatif: every list is there, empty where nothing was changed so. */
  type Scenario = Api.ScenarioQuestion &
    Required<Pick<Api.ScenarioQuestion, "from" | "add" | "put_on" | "remove" | "change">>;

  /**
   * What is asked about: the model of the state, its cargo as it was and as it is now, the figures of before, the station's
   * last answer. `ours` are new things that were kept: the day has them since, with the place they were kept with.
   */
  interface AskNow {
    state: string;
    coupled: Coupled;
    model: import("../src/steelyard/web/pages/ask/ask-model.js").Model;
    first: Cargo;
    before: Prediction;
    cargo: Cargo;
    chosen: string | null;
    answer: Answered | null;
    asked: number;
    timer: number;
    pending: boolean;
    refused: string;
    ours: Map<string, Record<Axis, number | string>>;
    key?: { name: string; key: string };
    fields?: import("../src/steelyard/web/pages/shell/fields.js").Fields;
  }
}

// ---- the page of the pads ----

declare namespace Page {
  /** What was typed on a wheel, and for which pad. */
  interface TypedWheel {
    text: string;
    pad: string;
  }

  /** What is typed at the pads and not kept: on the wheels that are shown, and aside on those that the state lacks. */
  interface TypedDraft {
    state: string;
    read: [string, TypedWheel][];
    aside?: [string, TypedWheel][];
    label?: string;
    note?: string;
    same?: boolean;
    correcting?: number | null;
  }

  /** What stands at a wheel: typed by hand or live. `unclear` is what could be two numbers. */
  interface Reading extends Shown {
    hand?: boolean;
    empty?: boolean;
    why?: string | null;
    unclear?: string;
  }

  type ReadWheel = Reading & { place: string };

  /** A reading that can be kept. */
  type Held = ReadWheel & { value: number };

  /** What the page of the pads knows by now. */
  interface PadsNow {
    state: string;
    rig: import("../src/steelyard/web/pages/shell/rig.js").Rig | null;
    read: Map<string, TypedWheel>;
    aside: Map<string, TypedWheel>;
    live: Map<string, LiveLoad>;
    /** The wheel whose keypad is open, and whether Next was pressed over a number that cannot be. */
    typing: string | null;
    insisted: boolean;
    gone: boolean;
    /** Why the station has no database just now. */
    storeAway: string | null;
    silent: boolean;
    follows: boolean;
    keeping: boolean;
    away: Hindrance | null;
    last: string | undefined;
    correcting: Waiting<QueuedDraft> | null;
    notice: string | null;
    stuck: string | null;
    unsay: number;
  }

  /** A draft that was kept since the page came. */
  interface OnDisk {
    number: number | null;
    json: { state: string; label?: string; note?: string; readings?: Readings };
  }

  interface KeypadHooks {
    typed(place: string, text: string | null): void;
    pad(place: string, instrument: string): void;
    /** On from this wheel; ends: to no other, the draft is kept as it is. */
    next(place: string, how: { ends: boolean }): void;
    nextWords(place: string): string;
    /** Whether a draft can be kept here though there is a wheel to go on to. */
    endsHere(place: string): boolean;
    /** Why no display can show it; empty where one can. */
    warn(place: string, text: string): string;
    closed(place: string): void;
  }

  interface QueueActs {
    correct(item: Waiting<QueuedDraft>): void;
    drop(item: Waiting): void;
    again(item: Waiting): void;
    edit(draft: KnownDraft): void;
    bringBack(draft: KnownDraft): void;
    takeBack(key: string): void;
  }

  interface WalkHooks {
    /** Puts the pads where a planned draft has them; false where something stands there. */
    go(draft: Api.PlannedDraft): boolean;
    open(place: string | undefined): void;
    state(): string;
    /** The places of the drawing, as a person walks along the rig. */
    order(): string[];
    announce(words: string): void;
    refresh(): void;
  }

  /** `theirs`: a state is what the station has; `mine` is the name of what was made here instead, if anything. */
  interface RefusalHooks {
    format(value: number): string;
    putBack(item: Waiting<QueuedDraft>, photos: TakenPhoto[]): Promise<void>;
    refresh(): Promise<Pads | null>;
    theirs(name: string, state: State, mine: string | null): void;
  }

  /** The drafts of a plan that are taken: which of them by which draft, with which places on other pads. */
  interface Followed {
    done: { at: number; draft: Draft; swapped: string[] }[];
    others: Draft[];
    next: number | null;
  }
}

declare namespace Page {
  /** For each draft taken since the plan was made: by finding the half-width that was reached. */
  type Reached = Map<number, Record<string, number | null>>;
}
