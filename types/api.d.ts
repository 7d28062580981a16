// What the station takes and answers, for the type checker alone; nothing of this is sent to a browser.
// `make docs` writes it from the description of the interface: change the dataclass beside the address instead.

declare namespace Api {
  interface Account {
    vehicle: string;
    /** The vehicle itself, its cargo, and what hangs on its couplings. */
    items: Item[];
    /** Of the items. */
    sum: Finding;
    /** As weighed. */
    gross: Finding;
    /** What the items do not explain; null where the unloaded mass of the vehicle is not stated. */
    rest: Item | null;
    /** What was put on since the other state, below zero where it was taken off. */
    since: Item | null;
  }

  interface Addition {
    key: string | null;
    /** Its place among the things of its kind in the file, from 1. */
    number: number;
    /** Its place among the additions to the day; 0 for a draft of the imported file. */
    seq: number;
    /** Whether it was there before. */
    replay: boolean;
  }

  interface Answer {
    without: string;
    value: number | null;
    low: number | null;
    high: number | null;
  }

  interface AtShare {
    /** In per cent. */
    share: number;
    /** At 95 %; null where nothing bounds it. */
    max_mass: number | null;
    /** At the best estimate. */
    best: number | null;
    /** Id of the limit that binds. */
    limit: string | null;
  }

  interface Away {
    put_away: boolean;
    /** Whether it was not so before. */
    changed: boolean;
  }

  interface Believed {
    believed: boolean;
  }

  interface BestPossible {
    id: string;
    half_width: number | null;
    limited_by: LimitedBy[];
  }

  interface Change {
    vehicle: string;
    /** Mass that came aboard, below zero where it went. */
    amount: number;
    /** First draft that it was there, from 1. */
    first: number;
    /** Last draft that it was there. */
    last: number;
    words: string;
    /** Lines to paste into the file if it is so. */
    toml: string;
  }

  interface Channel {
    /** The instrument that it belongs to. */
    source: string;
    /** [kg]; null where it is not a reading. */
    value: number | null;
    steady: boolean;
    why: string;
    trouble: string | null;
    /** As it came. */
    raw: string;
  }

  interface ChannelLine {
    /** As the instrument calls it. */
    channel: string;
    /** Which pad it is; `instrument.channel` where that is not clear. */
    pad: string;
    /** Whether a day at hand or the yard has a pad of that name. */
    placed: boolean;
    /** Whether a person chose it. */
    chosen: boolean;
    /** Whether it was chosen at the start. */
    given: boolean;
    /** How it does. */
    said: string;
    /** [kg]; null where it is not a reading. */
    value: number | null;
    steady: boolean;
  }

  interface Channels {
    /** By name. */
    channels: Record<string, Channel>;
  }

  interface ChosenThings {
    /** Of the yard, one or more, each once. */
    vehicles: string[];
    /** Those to weigh with, each once. */
    instruments?: string[];
  }

  interface ChosenWiring {
    /** A taught pattern; null: that of the instrument's name. */
    pattern: string | null;
    /** For channels as the instrument calls them, the pad or platform of the day. */
    pads: Record<string, string>;
  }

  interface CompareDays {
    /** Days, by their ids. */
    days: string[];
    /** States, each of every file that has it; left out: the last coupled one that was weighed. */
    of?: string[];
    /** The rig that others are set against: its file, title or state, or file and state as in `day:hitched`. */
    base?: string;
    /** Vehicles said to be the same and unchanged in every file, each with the standard uncertainty of what burned, drained or was moved. */
    unchanged?: Record<string, string | number>;
  }

  interface Compared {
    state: string;
    basis: "measured" | "predicted";
    /** Whether the day has this state; otherwise it was made for the comparison. */
    of_the_day: boolean;
  }

  interface ComparedValue {
    value: number | null;
    /** Standard uncertainty; null for a probability. */
    u: number | null;
    /** Lower end of the 95 % coverage interval. */
    low: number | null;
    /** Upper end of the 95 % coverage interval. */
    high: number | null;
    /** Whether the rig was weighed in this state; null where it has no such quantity. */
    basis: "measured" | "predicted" | null;
    /** The limit that is meant, where the measure is the least of several; else empty. */
    binds: string;
    /** Whether it depends on which of the contradicting readings is wrong. */
    contested: boolean;
  }

  interface Comparison {
    format: 1;
    units: Units;
    rigs: Rig[];
    /** The rig that the others are set against. */
    base: number;
    measures: Measure[];
    unchanged: Unchanged[];
    cautions: string[];
    /** Files with faults, which are not compared. */
    left_out: LeftOut[];
  }

  interface Consistency {
    /** Weighted sum of squared residuals. */
    chi2: number;
    /** Degrees of freedom. */
    dof: number;
    /** Probability of a sum at least this large where every reading is sound. */
    p: number | null;
    consistent: boolean;
    /** Degrees of freedom to which the variances of the readings are known: p is then that of F with dof and these. Null where they are known so well that p is that of chi-square. */
    reference_dof: number | null;
    suspects: Suspect[];
    changes: Change[];
  }

  interface Corner {
    /** In per cent. */
    share: number;
    mass: number | null;
    /** Ids of the limits at lesser and at greater shares. */
    limits: [string, string];
  }

  interface CoupleSetting {
    /** The wanted part, in per cent. */
    restore: number;
    /** Where the wanted part comes from; empty where it was asked for. */
    source: string;
    couple: Finding;
    /** Of the present couple; null where there is none. */
    multiple: Finding | null;
    /** Name of the state with this couple. */
    state: string;
    /** Of that state, with the couple taken as exact. */
    findings: Finding[];
    verdicts: Verdict[];
    /** What speaks against it. */
    warnings: string[];
  }

  interface CoupledQuestion {
    /** The state that is changed. */
    from: string;
    /** What the new state is called: `what_if` where left out. */
    name?: string;
    /** Trailers that are hitched. */
    hitch?: ({
      /** The coupling. */
      at: string;
      /** The trailer that is hitched to it. */
      trailer: string;
      /** The vehicle in front, where two have such a coupling. */
      towing?: string;
      /** Its couple with the unit, as in `"9000 lb*in"`; `{"as": STATE}` for that of a state; `"none"`. */
      distribution?: string | Record<string, unknown>;
    })[];
    /** Trailers that are unhitched; they leave the state. */
    unhitch?: string[];
    /** Couple of trailers that stay hitched, by trailer. */
    distribution?: Record<string, string | Record<string, unknown>>;
  }

  interface CouplingLoad {
    /** At 95 %. */
    most: number | null;
    /** At the best estimate. */
    best: number | null;
    /** Id of the limit that binds. */
    limit: string | null;
  }

  interface DaySeal {
    /** Its place among the seals of the day, from 1. */
    number: number;
    /** The weigher, as the folder of keys has them. */
    person: string;
    /** Of the key. */
    fingerprint: string;
    /** Its place among all seals of the weigher, from 1. */
    running_number: number;
    /** By the weigher's clock. */
    sealed_at: string;
    /** By the station's clock. */
    received: string;
    /** The last addition that it seals. */
    seq: number;
    /** How much came to the day after it, by kind. */
    since: Record<string, number>;
    /** Whether the digest that it names still stands in the chain of the day. */
    linked: boolean;
  }

  interface DaySeals {
    seals: DaySeal[];
  }

  interface Days {
    days: Summary[];
    /** What to give as `before` for the next page; null on the last one. */
    before: string | null;
  }

  type Description = Record<string, unknown>;

  interface Difference {
    /** Place among the rigs, from 0. */
    a: number;
    b: number;
    value: number;
    u: number;
    low: number;
    high: number;
    /** Whether the two differ: of all differences of this measure together, none is told in 95 % of cases where there is none. */
    told_apart: boolean;
    contested: boolean;
  }

  interface Distribution {
    format: 1;
    file: string;
    title: string;
    units: Units;
    state: string;
    /** The towing vehicle. */
    towing: string;
    trailer: string;
    /** The same combination without weight distribution. */
    without: Compared;
    /** The towing vehicle alone, with its cargo. */
    alone: Compared;
    /** Null where the state has no weight distribution. */
    couple: Finding | null;
    /** Part of the front axle load restored; null where it has no meaning. */
    restored: Finding | null;
    /** Of the three states. */
    loads: Finding[];
    /** By the couple, from the state without it. */
    changes: Finding[];
    /** Null where hitching takes nothing off the front axle. */
    setting: CoupleSetting | null;
    /** Drafts or states that would determine what is not. */
    missing: string[];
    /** Whether readings contradict one another. */
    contested: boolean;
    cautions: string[];
  }

  interface DistributionQuestion {
    /** A state with a coupled trailer; left out: the one with weight distribution. */
    state?: string;
    /** The part of the front axle load to restore, as in `50 %`; left out: the usual one. */
    restore?: string | number;
  }

  interface Drive {
    /** The draft of the simulated day; null: off the pads. */
    drive?: number | null;
    /** Whether the cable is in. */
    plugged?: boolean;
    /** Somebody of this mass steps on, at `at`; null: all step off. Sent without `drive` and `plugged`. */
    put_on?: string | number | null;
    /** The coupling that is stepped on, as in `tow/ball`. */
    at?: string;
  }

  interface Error {
    error: Refusal;
  }

  interface Estimate {
    value: number | null;
    /** Standard uncertainty. */
    u: number | null;
    /** Lower end of the 95 % coverage interval. */
    low: number | null;
    /** Upper end of the 95 % coverage interval. */
    high: number | null;
    unit: string;
    determined: boolean;
  }

  interface Fault {
    /** Line of the file, from 1; null where there is no file, or the line is not known. */
    line: number | null;
    /** Path of keys to the value. */
    path: string;
    /** The value as it was written, shortened; empty where there is none. */
    value: string;
    /** What is wrong and what would be right. */
    message: string;
  }

  interface Finding {
    id: string;
    label: string;
    value: number | null;
    /** Standard uncertainty. */
    u: number | null;
    /** Lower end of the 95 % coverage interval. */
    low: number | null;
    /** Upper end of the 95 % coverage interval. */
    high: number | null;
    unit: string;
    basis: "measured" | "predicted";
    determined: boolean;
    /** Drafts that would determine it. */
    needs: Need[];
    /** Whether the answer depends on which of the contradicting readings is wrong; low and high then span all. */
    contested: boolean;
    /** The competing answers of a contested finding. */
    answers: Answer[];
  }

  interface Findings {
    format: 1;
    file: string;
    title: string;
    units: Units;
    findings: Finding[];
    verdicts: Verdict[];
    consistency: Consistency;
    cautions: string[];
  }

  interface FromStatics {
    value: number;
    /** Standard uncertainty. */
    u: number;
    /** Lower end of the 95 % coverage interval. */
    low: number;
    /** Upper end of the 95 % coverage interval. */
    high: number;
  }

  interface Head {
    /** Its place in the chain. */
    link: number;
    /** SHA-256 in hexadecimal; empty where the day has no chain. */
    digest: string;
  }

  interface History {
    format: 1;
    file: string;
    /** Its name in the store; null for a file. */
    day: string | null;
    title: string;
    /** The day as it was imported; null where only additions were asked for. */
    start: HistoryEntry | null;
    /** Of a day in a store the additions in order, those last that have no digest. Of a file its drafts, then its corrections. */
    entries: HistoryEntry[];
    /** Pictures and logs. */
    beside: HistoryEntry[];
    head: Head;
    /** Whether all is as it was kept; null where nothing was held against its digest. */
    kept: boolean | null;
    /** What is not as it was kept, a sentence each. */
    faults: string[];
    /** What is to be known of the digests besides. */
    notes: string[];
    /** The digest that was asked for; null where none was. */
    noted: Noted | null;
  }

  interface HistoryEntry {
    /** Its place in the chain of digests; null where it has none. */
    link: number | null;
    /** Its place among the additions; null for what is none, and in a file. */
    seq: number | null;
    /** `day` as it was imported; the section of the file that an addition is for, as `drafts`; `picture` of a photograph, `photo` of a draft as older versions kept them, `log` of growing load, `seal` of the day. */
    kind: string;
    key: string | null;
    /** Its place among the things of its kind in the file, from 1. */
    number: number | null;
    /** When it was made, where that is said. */
    at: string | null;
    /** When it was kept, by the station's clock; null in a file. */
    received: string | null;
    /** Who sent it; null in a file. */
    device: string | null;
    /** Its content on one line. */
    words: string;
    /** Its block in the file; null where it has none, and in the history of a file. */
    text: string | null;
    /** SHA-256 over the digest before and all that was kept here; null where it has none. */
    digest: string | null;
    /** How it was found when it was held against its digest; null where it was not. */
    state: "kept" | "changed" | "moved" | "deleted" | "put in" | "digest does not follow" | null;
  }

  interface HitchedTrailer {
    trailer: string;
    gross: Finding;
    share: Finding;
    verdicts: Verdict[];
  }

  interface IndicatorCard {
    /** As it was started. */
    name: string;
    /** How it is read. */
    kind: "lines" | "registers" | "simulator";
    /** Where it is. */
    address: string;
    /** The pattern that reads its lines; null: none yet. */
    pattern: string | null;
    /** Whether the pattern was chosen at the start. */
    given: boolean;
    /** The last lines that differ, as they came; foreign characters as codes. */
    lines: string[];
    channels: ChannelLine[];
    /** Lines that were not read since it is open, because too many came together. */
    skipped: number;
  }

  interface Indicators {
    indicators: IndicatorCard[];
    /** Those that were taught. */
    patterns: string[];
    /** Of the newest days and of the yard. */
    pads: string[];
  }

  interface Influence {
    format: 1;
    file: string;
    units: Units;
    /** The state, or the name of the new one. */
    state: string;
    /** In the order of the terms. */
    vehicles: string[];
    /** Whether a wheel is off the ground: then little is linear. */
    lifted: boolean;
    quantities: InfluenceQuantity[];
    limits: InfluenceLimit[];
    items: InfluenceCargo[];
    /** Where readings contradict one another, by what is taken to be wrong. A verdict is sure only if it is so under each. */
    under: Under[];
    /** Where the vehicles stand from above, along the rig from its front. */
    plan: StandingRig;
  }

  interface InfluenceCargo {
    name: string;
    title: string;
    on: string;
    aboard: boolean;
    /** Whether its mass and place are stated; else the readings tell them. */
    known: boolean;
    movable: boolean;
    /** Whether its place is given. */
    placed: boolean;
    /** Of a tank: that of the full tank. */
    mass: number[];
    x: number[];
    y: number[];
    /** How full a tank is; null for everything else. */
    level: number[] | null;
  }

  interface InfluenceLimit {
    /** Verdict id. */
    id: string;
    label: string;
    limit: number;
    /** `max` or `min`. */
    sense: string;
    /** Place among `quantities` of the sum that is limited; null for a limit on a share. */
    of: number | null;
    /** One-sided, of 95 %; null where it is not determined. */
    quantile: number | null;
    /** Of a limit on a share: the room under it, in mass; of one on a force, a multiple of it. */
    row: number[][] | null;
  }

  interface InfluenceQuantity {
    id: string;
    label: string;
    /** Of the two-sided 95 % interval; null where it is not determined. */
    quantile: number | null;
    /** Value and root of the sum itself, then of its change for one unit of m, m x and m y on each vehicle in turn; null where it is not determined. */
    row: number[][] | null;
  }

  interface Item {
    /** Id of the cargo or of the trailer, `unloaded`, `rest` or `since`. */
    item: string;
    name: string;
    kind: "vehicle" | "cargo" | "coupling" | "rest";
    /** How its mass is known. */
    source: "stated" | "tank level" | "weighed by difference" | "weighed";
    mass: Finding;
    /** Rearward. */
    x: Finding;
    /** To the left. */
    y: Finding;
  }

  interface Judgement {
    instrument: string;
    /** Its number in the file, from 1. */
    test: number;
    kind: string;
    /** In words. */
    what: string;
    load: number;
    /** Against the tolerance, either way. */
    error: number;
    /** Standard uncertainty of that error. */
    u: number;
    tolerance: number;
    /** That the tolerance is kept. */
    probability: number;
    verdict: "within" | "outside" | "undecided";
    /** Why it is undecided; empty where it is not. */
    reason: string;
  }

  interface KeepScenario {
    /** The state that is changed. */
    from: string;
    /** What the new state is called. */
    name: string;
    /** What is put on that the day does not know. */
    add?: ({
      /** Letters, digits, - and _; made up where left out. */
      name?: string;
      /** The name for people. */
      title?: string;
      /** A vehicle of the state. */
      on: string;
      /** In the day's unit, or a text with its unit. */
      mass: string | number;
      /** In the day's unit, or a text with its unit. */
      x: string | number;
      /** In the day's unit, or a text with its unit. */
      y: string | number;
      /** In the day's unit, or a text with its unit. */
      z?: string | number;
    })[];
    /** Cargo of the day that comes aboard too. */
    put_on?: string[];
    /** Cargo that is taken off. */
    remove?: string[];
    /** For each cargo what changes, as in `{"water": {"level": "100 %"}}`, with the keys of the file. */
    change?: Record<string, Record<string, unknown>>;
    /** Trailers that are hitched. */
    hitch?: ({
      /** The coupling. */
      at: string;
      /** The trailer that is hitched to it. */
      trailer: string;
      /** The vehicle in front, where two have such a coupling. */
      towing?: string;
      /** Its couple with the unit, as in `"9000 lb*in"`; `{"as": STATE}` for that of a state; `"none"`. */
      distribution?: string | Record<string, unknown>;
    })[];
    /** Trailers that are unhitched; they leave the state. */
    unhitch?: string[];
    /** Couple of trailers that stay hitched, by trailer. */
    distribution?: Record<string, string | Record<string, unknown>>;
    /** Made by the sender and never used again: sent twice, it is kept once. */
    key: string;
  }

  interface KeptPhotograph {
    key: string;
    /** Its place among the photographs of the day, from 1. */
    number: number;
    /** Its place among the additions to the day. */
    seq: number;
    /** Whether it was there before. */
    replay: boolean;
    /** SHA-256 of the bytes as they were sent. */
    sha256: string;
    /** Its name beside the file of the day. */
    file: string | null;
  }

  interface KeptPlan {
    /** Each further plan of the day is one more. */
    version: number;
    /** When it was kept. */
    saved: string;
    /** How many drafts the day had when it was made: the following drafts are compared with it. */
    after: number;
    /** As it was asked. */
    question: Record<string, unknown>;
    /** The plan, as `POST` answered it. */
    answer: Record<string, unknown>;
  }

  interface KeptScenario {
    /** As sent. */
    key: string;
    /** Of the state. */
    name: string;
    /** Its place among the states of the file, from 1. */
    number: number;
    /** Its place among the additions to the day. */
    seq: number;
    /** Whether it was there before. */
    replay: boolean;
  }

  interface KeptVerification {
    /** Its name in the addresses. */
    name: string;
    /** The newest version of each instrument that it tested. */
    pads: Version[];
  }

  interface LargestMass {
    /** Null where nothing bounds it. */
    mass: number | null;
    /** The least and the greatest share at which it is allowed, in per cent. */
    shares: [number, number];
  }

  interface Learned {
    id: string;
    kind: "slope" | "place" | "left_share" | "roll_share" | "ride_rate" | "roll_rate";
    label: string;
    /** What moves. */
    of: string;
    /** For each unit of what; null where the kind says it. */
    per: string | null;
    value: number | null;
    /** Standard uncertainty. */
    u: number | null;
    /** Lower end of the 95 % coverage interval. */
    low: number | null;
    /** Upper end of the 95 % coverage interval. */
    high: number | null;
    unit: string;
    determined: boolean;
    /** Why it is not determined. */
    reason: string | null;
    expected: FromStatics | null;
  }

  interface Ledger {
    format: 1;
    file: string;
    title: string;
    units: Units;
    state: string;
    since: string | null;
    /** Whether readings contradict one another; every figure then spans all answers. */
    contested: boolean;
    vehicles: Account[];
    cautions: string[];
  }

  interface LedgerQuestion {
    /** A state that was weighed. */
    state: string;
    /** Also what came aboard or was taken off since this state, beyond what the file says. */
    since?: string;
  }

  interface LeftOut {
    file: string;
    /** Everything wrong with it. */
    errors: Fault[];
  }

  interface LimitedBy {
    what: string;
    /** Part of the variance, in per cent. */
    share: number;
  }

  interface LoadMap {
    format: 1;
    file: string;
    title: string;
    units: Units;
    /** The state that is loaded further. */
    state: string;
    /** The vehicle whose load floor is mapped. */
    vehicle: string;
    /** Whether the file gives no load floor, so that it is taken from axles and tracks. */
    assumed_floor: boolean;
    /** Corners of the floor, along and across. */
    outline: [number, number][];
    /** Places along, nx of them. */
    x: number[];
    /** Places across, ny of them. */
    y: number[];
    /** ny by nx: what each place can take; null off the floor or unbounded. */
    max_mass: ((number | null)[])[];
    /** ny by nx: which of `limits` binds; -1 where none does. */
    limit: number[][];
    limits: MapLimit[];
    /** Verdict ids of limits that are not kept before anything is added. */
    missed: string[];
    /** Verdict ids of limits that the readings do not determine. */
    not_judged: string[];
    /** Whether readings contradict one another; the map then keeps each limit whichever is so. */
    contested: boolean;
    /** ny by nx: whether the item may stand there; null without an item. */
    fits: boolean[][] | null;
    /** Mass at which the last band ends. */
    most: number;
    bands: MapBand[];
    lines: MapLevel[];
    /** Lines between the regions of two limits. */
    borders: [number, number][][];
    tags: MapTag[];
  }

  interface LoadMapQuestion {
    /** The vehicle whose load floor is mapped. */
    on: string;
    /** A state of the day, or else: */
    state?: string;
    /** The state that this scenario would make. */
    scenario?: {
      /** The state that is changed. */
      from: string;
      /** What the new state is called: `what_if` where left out. */
      name?: string;
      /** What is put on that the day does not know. */
      add?: ({
        /** Letters, digits, - and _; made up where left out. */
        name?: string;
        /** The name for people. */
        title?: string;
        /** A vehicle of the state. */
        on: string;
        /** In the day's unit, or a text with its unit. */
        mass: string | number;
        /** In the day's unit, or a text with its unit. */
        x: string | number;
        /** In the day's unit, or a text with its unit. */
        y: string | number;
        /** In the day's unit, or a text with its unit. */
        z?: string | number;
      })[];
      /** Cargo of the day that comes aboard too. */
      put_on?: string[];
      /** Cargo that is taken off. */
      remove?: string[];
      /** For each cargo what changes, as in `{"water": {"level": "100 %"}}`, with the keys of the file. */
      change?: Record<string, Record<string, unknown>>;
      /** Trailers that are hitched. */
      hitch?: ({
        /** The coupling. */
        at: string;
        /** The trailer that is hitched to it. */
        trailer: string;
        /** The vehicle in front, where two have such a coupling. */
        towing?: string;
        /** Its couple with the unit, as in `"9000 lb*in"`; `{"as": STATE}` for that of a state; `"none"`. */
        distribution?: string | Record<string, unknown>;
      })[];
      /** Trailers that are unhitched; they leave the state. */
      unhitch?: string[];
      /** Couple of trailers that stay hitched, by trailer. */
      distribution?: Record<string, string | Record<string, unknown>>;
    };
    /** Places along and across, at most 100,000 together; 100 by 40 where left out. */
    grid?: [number, number];
    /** One thing of this mass: where it may stand. */
    item?: string | number;
    /** Requirements that are left out, by verdict id. */
    without?: string[];
  }

  interface MapBand {
    /** Mass from which on. */
    from: number;
    colour: string;
    /** Its outlines; null for the whole floor. */
    loops: [number, number][][] | null;
  }

  interface MapLevel {
    /** The mass. */
    at: number;
    stretches: [number, number][][];
  }

  interface MapLimit {
    /** Verdict id. */
    id: string;
    label: string;
    /** Of the places where it binds; null where it binds nowhere. */
    letter: string | null;
  }

  interface MapTag {
    letter: string;
    at: [number, number];
  }

  interface Match {
    format: 1;
    units: Units;
    pairs: Pair[];
    cautions: string[];
    /** Files with faults, which are not matched. */
    left_out: LeftOut[];
  }

  interface MatchDays {
    /** Days, by their ids. */
    days: string[];
    /** Each vehicle is loaded as in this state if it stands there; otherwise as it was last weighed. */
    state?: string;
  }

  interface Measure {
    id: string;
    label: string;
    unit: string;
    /** Which way is better; null where neither is. */
    better: "more" | "less" | null;
    values: ComparedValue[];
    differences: Difference[];
    /** The probability of each rig to be the best of all; empty where neither way is better. */
    best: (number | null)[];
    /** The rig that is told apart from every other as the better one; null: none is. */
    winner: number | null;
  }

  interface MovedCoupling {
    /** Rearward. */
    by: number;
    /** The most that the limits other than that of the coupling allow. */
    coupling_load: number | null;
    /** At which the mass is told, in per cent. */
    share: number;
    /** At 95 %. */
    max_mass: number | null;
    /** Id of the limit that binds. */
    limit: string | null;
  }

  interface Need {
    state: string;
    places: string[];
  }

  interface NewDay {
    /** Its name in the addresses. */
    id: string;
  }

  interface Noted {
    digest: string;
    /** Its place in the chain; null where it is none of this day's. */
    link: number | null;
  }

  interface Pair {
    file: string;
    /** The file of the trailer; another one where the two were not weighed on one day. */
    trailer_file: string;
    /** The towing vehicle. */
    towing: string;
    /** Its coupling; empty where it has none that takes the trailer. */
    at: string;
    trailer: string;
    /** The state as in which the towing vehicle is loaded. */
    towing_as: string;
    /** The state as in which the trailer is loaded. */
    trailer_as: string;
    /** The worst of all verdicts and paper checks; null where one is not judged and none is worse. */
    verdict: "within" | "undecided" | "outside" | null;
    /** The limit that leaves least of those with that verdict: of loads in mass, of shares as a part of the limit. */
    binds: Verdict | null;
    /** At which shares every limit would be kept at 95 %; null where nobody can tell. */
    works: WorkingShares | null;
    /** The load on the coupling. */
    load: Finding | null;
    /** The same as a part of the trailer's gross. */
    share: Finding | null;
    /** The gross of the trailer. */
    gross: Finding | null;
    verdicts: Verdict[];
    /** Chosen rules of the road that compare papers, the licence among them. */
    papers: Paper[];
    /** Why nothing is predicted; else empty. */
    why: string;
  }

  interface Paper {
    /** Its id. */
    rule: string;
    /** The rule set that it is in. */
    set: string;
    label: string;
    cite: string;
    /** As the licence that is needed; empty where the rule only compares. */
    answer: string;
    /** Whether the rule is met; null where that is not said. */
    met: boolean | null;
    /** Keys of the file that are missing. */
    needs: string[];
  }

  interface PaperStep {
    /** Its id. */
    rule: string;
    /** The rule set that it is in. */
    set: string;
    title: string;
    cite: string;
    /** The permissible mass up to which it holds; null: no heavier one changes it. */
    up_to: number | null;
    /** As the licence that is needed; empty where the rule only compares. */
    answer: string;
    /** Whether the rule is met; null where that is not said. */
    met: boolean | null;
    /** Whether the trailer has brakes; null where it does not matter. */
    braked: boolean | null;
  }

  interface Photo {
    /** Of the draft. */
    key: string;
    /** Whether the draft had a photo before, which stays. */
    replay: boolean;
  }

  interface Photograph {
    /** Its place among the photographs of the day, from 1. */
    number: number;
    /** Number of the draft that it shows. */
    draft: number;
    /** The place whose display it shows; null where it shows the whole draft. */
    place: string | null;
    /** SHA-256 of the bytes as they were sent. */
    sha256: string;
    /** Its name beside the file of the day. */
    file: string | null;
    /** When it was taken. */
    at: string | null;
    /** Who took it; empty where nobody says. */
    by: string;
    /** Whether the station has the picture; that of an imported record lies elsewhere. */
    kept: boolean;
  }

  interface Photographs {
    photographs: Photograph[];
  }

  interface Place {
    /** As a reading names it; several may be joined by `+`. */
    place: string;
    kind: "wheel" | "axle" | "group" | "vehicle" | "coupling";
    vehicle: string;
    /** The wheels that it carries. */
    covers: string[];
  }

  interface PlaceLoad {
    place: string;
    /** The instrument under it. */
    pad: string;
    first: number | null;
    last: number | null;
    now: number | null;
  }

  interface Places {
    /** By state the places that a draft may read. */
    states: Record<string, Place[]>;
    /** A pad is put under one wheel end; a platform under any place. */
    instruments: Record<string, "pad" | "platform">;
  }

  interface Plan {
    format: 1;
    file: string;
    units: Units;
    status: "optimal" | "feasible" | "impossible" | "unknown";
    /** Null where no plan was found. */
    cost: number | null;
    /** No plan costs less; null where none is possible. */
    bound: number | null;
    /** Whether the time was over before the search was. */
    out_of_time: boolean;
    /** What was not on offer, in words. */
    left_out: string[];
    drafts: PlannedDraft[];
    expected: Wanted[];
    best_possible: BestPossible[];
    steps: PlanStep[];
    what_more: WhatMore[];
    /** Whether any wanted finding is contested. */
    contested: boolean;
    /** Whether loads are assumed from ratings, as nothing was read yet. */
    assumed_loads: boolean;
    cautions: string[];
  }

  interface PlanKey {
    /** As it was sent. */
    key: string;
  }

  interface PlanProgress {
    /** Whether a plan of that key is being made. */
    running: boolean;
    /** Of the best plan so far; null where there is none yet. */
    cost: number | null;
    /** No plan costs less. */
    bound: number;
  }

  interface PlanQuestion {
    /** Findings and how far off each may be at 95 %, as in `hitched/* /axle/* <= 50 lb`; without a bound it shall be determined. */
    want: string[];
    /** Pads and platforms at hand; pairs go left to right. */
    pads?: string[];
    /** States in which drafts may be taken; else in any. */
    in?: string[];
    /** Whether a pad may stand under one wheel alone; otherwise they go in pairs. */
    single?: boolean;
    /** How many blocks as high as the pads are at hand. */
    blocks?: number;
    /** Whether planks as high as the pads are at hand for each wheel without a pad. */
    planks?: boolean;
    /** The instrument that fits under a coupling point. */
    coupling_platform?: string;
    /** What handling costs: carry, move, hitch, bars, load, block. */
    cost?: Record<string, number>;
    /** How long all of it may take; at most 60 when a station is asked. */
    seconds?: number;
    /** Whether to say what more drafts, pads, divisions or blocks would buy. */
    more?: boolean;
    /** Keep it for every device; needs the role that may weigh. */
    keep?: boolean;
    /** What the plan is asked about by while it is being made. */
    key?: string;
  }

  interface PlanReached {
    /** Of the plan. */
    version: number;
    /** As in the plan. */
    after: number;
    reached: ReachedDraft[];
  }

  interface PlanStep {
    /** Number of the draft in the plan, from 1. */
    draft: number;
    action: "unhitch" | "hitch" | "bars" | "load" | "carry" | "aside" | "block" | "read";
    /** The same in words. */
    text: string;
    cost: number;
  }

  interface PlannedDraft {
    state: string;
    /** The instrument at each place. */
    placements: Record<string, string>;
    /** Wheels that want a block as high as the pads. */
    blocks: string[];
    /** `ground` where the other wheels stand on the ground; null where they are level. */
    unsupported: "ground" | null;
    /** Drafts with the same name are taken without moving rig or pads. */
    placement: string | null;
  }

  interface ReachedDraft {
    /** Its number. */
    draft: number;
    /** By id of the finding; null: not determined. */
    half_width: Record<string, number | null>;
  }

  interface Rebalance {
    /** `feasible` where it is good but not proved the least. */
    status: "optimal" | "feasible" | "impossible";
    /** Whether readings contradict one another; every limit is then kept whichever of them is right. */
    contested: boolean;
    /** Mass moved, left behind or drained; null where nothing puts the state right. */
    moved_mass: number | null;
    actions: RemedyAction[];
    settings: RemedySetting[];
    /** Of the state as it would be. */
    findings: Finding[];
    /** Of the state as it would be. */
    verdicts: Verdict[];
    /** Why the answer is what it is, in one sentence; empty where there is nothing to say. */
    reason: string;
    /** The answer that touches the fewest items. */
    fewest_items: Remedy;
  }

  interface RebalanceQuestion {
    /** A state of the day, or else: */
    state?: string;
    /** The state that this scenario would make. */
    scenario?: {
      /** The state that is changed. */
      from: string;
      /** What the new state is called: `what_if` where left out. */
      name?: string;
      /** What is put on that the day does not know. */
      add?: ({
        /** Letters, digits, - and _; made up where left out. */
        name?: string;
        /** The name for people. */
        title?: string;
        /** A vehicle of the state. */
        on: string;
        /** In the day's unit, or a text with its unit. */
        mass: string | number;
        /** In the day's unit, or a text with its unit. */
        x: string | number;
        /** In the day's unit, or a text with its unit. */
        y: string | number;
        /** In the day's unit, or a text with its unit. */
        z?: string | number;
      })[];
      /** Cargo of the day that comes aboard too. */
      put_on?: string[];
      /** Cargo that is taken off. */
      remove?: string[];
      /** For each cargo what changes, as in `{"water": {"level": "100 %"}}`, with the keys of the file. */
      change?: Record<string, Record<string, unknown>>;
      /** Trailers that are hitched. */
      hitch?: ({
        /** The coupling. */
        at: string;
        /** The trailer that is hitched to it. */
        trailer: string;
        /** The vehicle in front, where two have such a coupling. */
        towing?: string;
        /** Its couple with the unit, as in `"9000 lb*in"`; `{"as": STATE}` for that of a state; `"none"`. */
        distribution?: string | Record<string, unknown>;
      })[];
      /** Trailers that are unhitched; they leave the state. */
      unhitch?: string[];
      /** Couple of trailers that stay hitched, by trailer. */
      distribution?: Record<string, string | Record<string, unknown>>;
    };
    /** Cargo that nobody touches. */
    keep?: string[];
    /** Cargo that may be moved though the file does not mark it movable. */
    move?: string[];
    /** Nothing may be left behind. */
    no_drop?: boolean;
    /** Couples that may be set: least and greatest by trailer. */
    couple?: Record<string, [string | number, string | number]>;
    /** How far a coupling may be moved rearward: least and greatest by trailer. */
    shift?: Record<string, [string | number, string | number]>;
  }

  interface Recording {
    recording: Standing | null;
  }

  interface Refusal {
    /** For programs; does not change. */
    code: string;
    /** For people. */
    message: string;
    faults: Fault[];
  }

  interface Remedy {
    /** `feasible` where it is good but not proved the least. */
    status: "optimal" | "feasible" | "impossible";
    /** Whether readings contradict one another; every limit is then kept whichever of them is right. */
    contested: boolean;
    /** Mass moved, left behind or drained; null where nothing puts the state right. */
    moved_mass: number | null;
    actions: RemedyAction[];
    settings: RemedySetting[];
    /** Of the state as it would be. */
    findings: Finding[];
    /** Of the state as it would be. */
    verdicts: Verdict[];
    /** Why the answer is what it is, in one sentence; empty where there is nothing to say. */
    reason: string;
  }

  interface RemedyAction {
    /** Id of the cargo. */
    cargo: string;
    action: "move" | "remove" | "drain";
    /** That is moved, left behind or drained. */
    mass: number;
    /** Where it is moved; null where it is not. */
    to: RemedyPlace | null;
    /** How full a drained tank is left, in percent; null for everything else. */
    level: number | null;
  }

  interface RemedyPlace {
    /** Rearward. */
    x: number;
    /** To the left. */
    y: number;
  }

  interface RemedySetting {
    trailer: string;
    /** `couple`, given by its value, or `shift` of the coupling, given by how far rearward. */
    setting: string;
    value: number;
    unit: string;
  }

  interface Rig {
    file: string;
    state: string;
    title: string;
  }

  interface Rule {
    id: string;
    title: string;
    /** How it was read: `A` in the primary text, `B` in a secondary text, `C` from memory. */
    grade: "A" | "B" | "C";
    /** Where it stands. */
    cite: string;
    /** The rule restated. */
    words: string;
    note: string;
  }

  interface Rules {
    format: 1;
    file: string;
    title: string;
    units: Units;
    /** The rule sets that were chosen. */
    sets: Set[];
    rules: Ruling[];
    cautions: string[];
  }

  interface RulesQuestion {
    /** A state; left out: every state. */
    state?: string;
  }

  interface Ruling {
    /** Id of the rule. */
    id: string;
    /** Id of the rule set. */
    set: string;
    /** Edition of the rule set. */
    edition: string;
    /** How the rule was read: `A` in the primary text, `B` in a secondary text, `C` from memory. */
    grade: "A" | "B" | "C";
    /** Id of the verdict; where a finding is limited, as in the findings. */
    verdict_id: string;
    state: string;
    /** What it speaks of: a load as in the finding ids, a vehicle or a coupling. */
    subject: string;
    label: string;
    /** `weighed`: a limit on a finding, with its doubt. `paper`: figures of the file compared, without a doubt. Null where it is not judged. */
    basis: "weighed" | "paper" | null;
    /** False where the rule does not speak of this state; `note` says why. */
    applies: boolean;
    value: number | null;
    /** Standard uncertainty; null where the value is from papers. */
    u: number | null;
    /** Lower end of the 95 % coverage interval. */
    low: number | null;
    /** Upper end of the 95 % coverage interval. */
    high: number | null;
    /** Of the figures; empty where there are none. */
    unit: string;
    /** Null where there is none, or where nothing is too much. */
    limit: number | null;
    /** Null where there is no limit. */
    sense: "max" | "min" | null;
    /** That the rule is kept; null where the value is from papers. */
    probability: number | null;
    /** Null where nothing is judged. */
    verdict: "within" | "outside" | "undecided" | null;
    /** Above zero where the rule is kept. */
    margin: number | null;
    /** Whether it depends on which of the contradicting readings is wrong. */
    contested: boolean;
    /** In words, as the licence that is needed; empty where there is none. */
    answer: string;
    /** What would bring it within, or decide it. */
    advice: string;
    /** Where the rule stands. */
    cite: string;
    /** The rule restated. */
    words: string;
    note: string;
    /** Keys of the file whose values are missing. */
    needs: string[];
    /** Drafts that would determine what is limited. */
    drafts: Need[];
  }

  interface ScenarioQuestion {
    /** The state that is changed. */
    from: string;
    /** What the new state is called: `what_if` where left out. */
    name?: string;
    /** What is put on that the day does not know. */
    add?: ({
      /** Letters, digits, - and _; made up where left out. */
      name?: string;
      /** The name for people. */
      title?: string;
      /** A vehicle of the state. */
      on: string;
      /** In the day's unit, or a text with its unit. */
      mass: string | number;
      /** In the day's unit, or a text with its unit. */
      x: string | number;
      /** In the day's unit, or a text with its unit. */
      y: string | number;
      /** In the day's unit, or a text with its unit. */
      z?: string | number;
    })[];
    /** Cargo of the day that comes aboard too. */
    put_on?: string[];
    /** Cargo that is taken off. */
    remove?: string[];
    /** For each cargo what changes, as in `{"water": {"level": "100 %"}}`, with the keys of the file. */
    change?: Record<string, Record<string, unknown>>;
    /** Trailers that are hitched. */
    hitch?: ({
      /** The coupling. */
      at: string;
      /** The trailer that is hitched to it. */
      trailer: string;
      /** The vehicle in front, where two have such a coupling. */
      towing?: string;
      /** Its couple with the unit, as in `"9000 lb*in"`; `{"as": STATE}` for that of a state; `"none"`. */
      distribution?: string | Record<string, unknown>;
    })[];
    /** Trailers that are unhitched; they leave the state. */
    unhitch?: string[];
    /** Couple of trailers that stay hitched, by trailer. */
    distribution?: Record<string, string | Record<string, unknown>>;
  }

  interface SealGiven {
    /** Its place among the seals of the day, from 1. */
    number: number;
    /** Whether the day had this very seal before. */
    replay: boolean;
    /** Sentences that the weigher should read. */
    notes: string[];
  }

  interface SentCargo {
    /** Letters, digits, - and _. */
    name: string;
    /** A vehicle of the day. */
    on: string;
    /** Made by the sender and never used again: sent twice, it is kept once. */
    key?: string;
    /** The name for people; `name` in the file. */
    title?: string;
    /** Whether it may be moved to put a state right. */
    movable?: boolean;
    /** Mass. */
    mass?: string | number;
    /** Volume of a full tank. */
    volume?: string | number;
    /** Density of what a tank holds. */
    density?: string | number;
    /** Part of a tank that is full. */
    level?: string | number;
    /** Place along the vehicle. */
    x?: string | number;
    /** Place across the vehicle, to the left. */
    y?: string | number;
    /** Height. */
    z?: string | number;
    /** How fast the amount changes by itself, by mass or volume and time. */
    rate?: string;
  }

  interface SentChoice {
    /** Made by the sender and never used again: sent twice, it is kept once. */
    key: string;
    /** Names of rule sets; an empty list chooses none. */
    apply: string[];
    /** The place where the combination drives, as `DE`. */
    where?: string;
    /** What it is used for. */
    use?: "private" | "commerce";
    /** The groups or categories that the driver holds. */
    licence?: string[];
    /** Whether rules that nobody could check are judged too. */
    from_memory?: boolean;
  }

  interface SentCorrection {
    /** Made by the sender and never used again: sent twice, it is kept once. */
    key: string;
    /** Why. */
    reason: string;
    /** Key or number of the draft; or name a state. */
    draft?: string | number;
    /** The place of the reading; left out with a label. */
    place?: string;
    /** What counts instead; without it the reading is set aside. */
    value?: number | string;
    /** What the draft or the state is called from now on: without place, value and away. */
    label?: string;
    /** Instead of a draft: the id of a state. */
    state?: string;
    /** With a state: whether it is put away, so that it is not shown, or brought back. */
    away?: boolean;
    /** When it was made, ISO 8601. */
    at?: string;
  }

  interface SentDraft {
    /** Made by the sender and never used again: sent twice, it is kept once. */
    key: string;
    /** A state of the day. */
    state: string;
    /** For each place the instrument and what it showed. */
    readings: Record<string, [string, number | string]>;
    /** When it was made, ISO 8601. */
    at?: string;
    /** Name of the draft for people. */
    label?: string;
    /** A remark. */
    note?: string;
    /** Drafts of the same name were taken without moving the rig or the pads. */
    placement?: string;
    /** Wheels without a pad stand on the ground. */
    unsupported?: "ground";
    /** The rig faced the other way than the slope is stated for. */
    heading?: "reversed";
    /** For each raised axle or coupling point by how much, against the others. */
    raised?: Record<string, string | number>;
    /** The springs were kept from moving while it was raised. */
    suspension?: "blocked";
    /** Of these, wheels that stand on blocks as high as the pads. */
    blocks?: string[];
  }

  interface SentLog {
    /** The state that stood on the pads. */
    state?: string;
    /** The log as text. */
    csv?: string;
    /** Or the log row by row, each with `t` and a value for each place, named as in a CSV log. */
    rows?: Record<string, unknown>[];
    /** What the log is called in messages. */
    name?: string;
    /** What stands under each place, as in `{"tow/1L": "p1"}`; else as the drafts of the day say. */
    pads?: Record<string, string>;
    /** The vehicle that was loaded; else the towing one. */
    on?: string;
    /** Where the load was put: a coupling of it, or two lengths as in `"222 in, 0 in"`. */
    at?: string;
    /** Step in which heights were read; 1 mm where left out. */
    height_division?: string | number;
    /** Or the number of a log of the day. */
    log?: number;
  }

  interface SentRecording {
    /** The state of the rig on the pads. */
    state: string;
    /** Rows while all pads stand still; every sample; or those that are typed. */
    take?: "steady" | "every" | "hand";
    /** What stands under each place, as in `{"tow/1L": "p1"}`; else as the day's drafts say. */
    pads?: Record<string, string>;
  }

  interface SentRow {
    /** Its number: sent twice, it is one row. */
    row: number;
    /** One for each place: a number, or a text with its unit. */
    readings: Record<string, string | number>;
  }

  interface SentSeal {
    /** A weigher who has a key on this machine; empty means the only one. */
    person?: string;
    /** The pass phrase of their key. It is kept nowhere. */
    pass_phrase?: string;
  }

  interface SentState {
    /** Letters, digits, - and _. */
    name: string;
    /** Made by the sender and never used again: sent twice, it is kept once. */
    key?: string;
    /** A state of the day; this one is the same ... */
    same?: string;
    /** ... with this cargo aboard too ... */
    with?: string[];
    /** ... and without this. */
    without?: string[];
    /** Vehicles in the state. */
    vehicles?: string[];
    /** A coupling or a list of them, as in the file. */
    couple?: Record<string, unknown> | unknown[];
    /** Cargo aboard. */
    cargo?: string[];
    /** What is different about cargo in this state, as in the file. */
    change?: Record<string, unknown>;
  }

  interface SentThing {
    /** Its block of a weigh-day file: `[vehicles.NAME]` and what belongs to it. */
    text: string;
    /** Left out, what was learned before stays. */
    learned?: Record<string, unknown>;
  }

  interface SentTitle {
    /** Made by the sender and never used again: sent twice, it is kept once. */
    key: string;
    /** One line of words. */
    title: string;
  }

  interface Set {
    id: string;
    title: string;
    edition: string;
    /** When it was last compared with the text in force. */
    checked: string;
    /** Whether that is over a year ago. */
    old: boolean;
    /** Where it holds; empty: anywhere. */
    place: string;
    use: ("private" | "commerce")[];
    /** To whom it applies. */
    applies: string;
    /** Sets that cannot be chosen together with it. */
    excludes: string[];
    /** Whether it is from a file of the user's. */
    own: boolean;
    /** Its rules; left out where a day is judged by them. */
    rules?: Rule[];
  }

  interface Stance {
    /** The draft that it stands as. */
    number: number | null;
    label: string;
    state: string | null;
    /** By pad the place that stands on it. */
    places: Record<string, string>;
  }

  interface Standing {
    /** The state of the rig on the pads. */
    state: string;
    /** Which samples become rows. */
    take: "steady" | "every" | "hand";
    /** Of all loads. */
    unit: string;
    /** Whether rows may still come. */
    running: boolean;
    /** How many there are. */
    rows: number;
    /** Samples that were no reading. */
    skipped: number;
    /** Every so many samples are taken; 1: all. */
    thinned: number;
    /** Since it began. */
    seconds: number;
    /** Whether all pads stand still. */
    steady: boolean;
    /** Why no row is taken now; empty where one is. */
    trouble: string;
    /** Why it ended by itself. */
    stopped: string;
    /** Who began it. */
    device: string;
    places: PlaceLoad[];
    /** The last rows that were typed. */
    typed: number[][];
  }

  interface StandingAxle {
    /** On its vehicle, from 1. */
    number: number;
    at: number;
    /** From the centreline to the middle of a wheel end. */
    half: number;
    /** From the centreline to the outermost edge of a tyre. */
    outer: number;
    /** Middles of the tyres of one side, from the centreline. */
    tyres: number[];
  }

  interface StandingCoupling {
    number: number;
    at: number;
    trailer: string;
    hitched: boolean;
  }

  interface StandingRig {
    length: number;
    /** Half its width. */
    half: number;
    /** Length of a tyre. */
    tyre: number;
    /** Width of a tyre. */
    tread: number;
    vehicles: StandingVehicle[];
    couplings: StandingCoupling[];
  }

  interface StandingVehicle {
    id: string;
    title: string;
    /** Whether it is a towing vehicle. */
    towing: boolean;
    /** Where its own places are measured from. */
    origin: number;
    front: number;
    rear: number;
    /** Where the neck of a trailer ends; null where it has none. */
    neck: number | null;
    /** Half its width. */
    half: number;
    /** Corners of its load floor, from its origin; empty without one. */
    floor: [number, number][];
    axles: StandingAxle[];
    couplings: number[];
  }

  interface Stopped {
    told: boolean;
  }

  interface Summary {
    id: string;
    title: string;
    created: string;
    changed: string;
    /** How many. */
    drafts: number;
    /** The last addition. */
    seq: number;
  }

  interface Suspect {
    /** Number of the draft, from 1. */
    draft: number;
    place: string;
    instrument: string;
    /** As it was read, in the unit of masses. */
    reading: number;
    normalised_residual: number;
    /** What may have happened, in words. */
    explanations: string[];
  }

  interface Sweep {
    format: 1;
    file: string;
    /** Name of the log. */
    log: string;
    title: string;
    units: Units;
    state: string;
    /** The vehicle that was loaded. */
    vehicle: string;
    /** Rows of the log. */
    samples: number;
    /** Loads at which it stood still. */
    plateaus: number;
    /** Null where nobody said and the wheels do not tell. */
    load: SweptLoad | null;
    places: SweptColumn[];
    learned: Learned[];
    cautions: string[];
  }

  interface SweepLog {
    /** Its place among the logs of the day, from 1. */
    number: number;
    /** Known to nobody else. */
    key: string;
    /** What it is called. */
    name: string;
    /** Who recorded or sent it. */
    device: string;
    /** When it was kept. */
    received: string;
    /** The state of the rig on the pads. */
    state?: string;
    /** What stands under each place, as in `{"tow/1L": "p1"}`; else as the day's drafts say. */
    pads?: Record<string, string>;
    /** How it was recorded. */
    take?: string;
    /** How many it has. */
    rows?: number;
    /** The vehicle that was loaded; else the towing one. */
    on?: string;
    /** Where the load was put: a coupling of it, or two lengths as in `"222 in, 0 in"`. */
    at?: string;
    /** Step in which heights were read; 1 mm where left out. */
    height_division?: string;
  }

  interface SweepLogs {
    logs: SweepLog[];
  }

  interface SweepNumber {
    /** Of the log in its day. */
    number: number;
    /** Whether it was kept before. */
    replay?: boolean;
  }

  interface SweepOptions {
    /** The vehicle that was loaded; else the towing one. */
    on?: string;
    /** Where the load was put: a coupling of it, or two lengths as in `"222 in, 0 in"`. */
    at?: string;
    /** Step in which heights were read; 1 mm where left out. */
    height_division?: string;
  }

  interface SweptColumn {
    place: string;
    what: "load" | "height";
    unit: string;
    /** The least that was read. */
    low: number;
    /** The most that was read. */
    high: number;
    /** Standard deviation while the load stood still. */
    flicker: number;
  }

  interface SweptLoad {
    /** Rearward. */
    x: number;
    /** To the left. */
    y: number;
    /** The coupling that it was put on, if any. */
    coupling: string | null;
    /** Whether somebody said so; otherwise the wheels tell it. */
    given: boolean;
  }

  interface Thing {
    name: string;
    /** From 1; the last one counts. */
    version: number;
    /** The block of a weigh-day file, every value with its unit. */
    text: string;
    /** What weighing has shown of it beyond its labels. */
    learned: Record<string, unknown>;
    /** Who saved it. */
    device: string;
    saved: string;
  }

  interface TowLimit {
    id: string;
    label: string;
  }

  interface TradedLoad {
    place: string;
    /** For each unit of change of the finding. */
    change: number;
  }

  interface Trailer {
    format: 1;
    file: string;
    title: string;
    units: Units;
    /** The state in which the towing vehicle stands alone. */
    from: string;
    /** The towing vehicle. */
    vehicle: string;
    /** Its coupling. */
    at: string;
    coupling_load: CouplingLoad;
    /** Whether readings contradict one another; every bound then holds under each answer. */
    contested: boolean;
    /** Limits whose finding is not determined. */
    not_judged: string[];
    /** Limits that are not kept without any trailer; where there is one, no trailer is allowed. */
    missed: string[];
    largest: LargestMass;
    window: UsualShares;
    region: AtShare[];
    limits: TowLimit[];
    corners: Corner[];
    moved: MovedCoupling[];
    trailers: HitchedTrailer[];
    /** Chosen rules of the road by the trailer's permissible mass; else empty. */
    papers: PaperStep[];
  }

  interface TrailerQuestion {
    /** A state in which the towing vehicle stands alone. */
    from: string;
    /** The coupling, where the vehicle has several. */
    at?: string;
    /** Trailers of the day to be set into the picture; else all. */
    trailers?: string[];
    /** More cargo on these. */
    add?: ({
      /** Letters, digits, - and _; made up where left out. */
      name?: string;
      /** The name for people. */
      title?: string;
      /** A vehicle of the state. */
      on: string;
      /** In the day's unit, or a text with its unit. */
      mass: string | number;
      /** In the day's unit, or a text with its unit. */
      x: string | number;
      /** In the day's unit, or a text with its unit. */
      y: string | number;
      /** In the day's unit, or a text with its unit. */
      z?: string | number;
    })[];
  }

  interface Unchanged {
    vehicle: string;
    files: [string, string];
    difference: number | null;
    u: number | null;
    low: number | null;
    high: number | null;
    /** The probability of so large a difference, or a larger one, of an unchanged vehicle. */
    p: number | null;
    verdict: "unchanged" | "changed" | "not determined";
  }

  interface Under {
    /** What is taken to be wrong. */
    without: string;
    quantities: InfluenceQuantity[];
    limits: InfluenceLimit[];
    items: InfluenceCargo[];
  }

  interface Units {
    /** Unit of masses and loads. */
    mass: string;
    /** Unit of lengths. */
    length: string;
  }

  interface UsualShares {
    low: number | null;
    high: number | null;
    source: string;
  }

  interface Verdict {
    id: string;
    /** Id of the finding that is limited. */
    finding: string;
    limit: number;
    /** `max` or `min`. */
    sense: string;
    value: number | null;
    u: number | null;
    margin: number | null;
    probability: number | null;
    /** Null where the finding is not determined. */
    verdict: "within" | "undecided" | "outside" | null;
    /** Where the limit comes from. */
    source: string;
    label: string;
    /** What would help, where it is not within. */
    advice: string;
    contested: boolean;
  }

  interface Verification {
    format: 1;
    file: string;
    title: string;
    units: Units;
    date: string | null;
    /** When the next one is due. */
    due: string | null;
    /** The table of tolerances. */
    table: string;
    phase: string;
    /** Where the tolerances are published. */
    source: string;
    /** When the tables were last looked at. */
    checked: string;
    instruments: Verified[];
    judgements: Judgement[];
    cautions: string[];
  }

  interface Verified {
    id: string;
    serial: string;
    /** Accuracy class. */
    class: string;
    capacity: number;
    division: number;
    /** How much too much it shows of a load. */
    span: Estimate;
    /** The same against the mean of the set, where only that is determined. */
    relative_span: Estimate;
    /** What it shows without a load. */
    zero: Estimate;
    /** Standard deviation of the same load shown again. */
    repeatability: Estimate;
    /** Standard uncertainty for the place on the plate, in per cent; null where it was not tested. */
    eccentricity: number | null;
    /** What a small mass showed of itself; null where none was tried. */
    small_mass: Estimate | null;
    /** What the span rests on; where it is not determined, why. */
    basis: string;
    /** The masses or the reference whose error its span shares with all that were verified with them. */
    standard: string | null;
    /** Standard uncertainty of that error, in per cent; null where no standard is named. */
    standard_uncertainty: number | null;
    /** Null where nothing was judged. */
    verdict: "within" | "outside" | "undecided" | null;
    /** The least of its judgements. */
    probability: number | null;
  }

  interface Version {
    name: string;
    /** Its number. */
    version: number;
  }

  interface Wanted {
    id: string;
    unit: string;
    /** Half-width wanted; null where it shall only be determined. */
    wanted: number | null;
    /** Half-width now; null where it is not determined. */
    now: number | null;
    /** After each draft. */
    half_width: (number | null)[];
    /** Whether the last draft brings it within what is wanted. */
    met: boolean;
    /** Whether readings contradict one another and which is wrong decides it. */
    contested: boolean;
    /** Drafts that would determine it, where it is not. */
    needs: Need[];
    /** What trades off, where it is not determined. */
    why: TradedLoad[] | null;
  }

  interface WantedAfter {
    id: string;
    half_width: number | null;
  }

  interface WhatMore {
    what: string;
    status: "optimal" | "feasible" | "impossible" | "unknown";
    /** Of the best plan with it; null where none was found. */
    cost: number | null;
    /** How many that plan has. */
    drafts: number;
    half_width: WantedAfter[];
  }

  interface Wiring {
    /** A taught pattern; left out or null: the one that has the instrument's own name. */
    pattern?: string;
    /** For channels as the instrument calls them, the pad or platform of the day. */
    pads?: Record<string, string>;
  }

  interface WorkingShares {
    low: number | null;
    high: number | null;
  }

  interface Yard {
    vehicles: Thing[];
    instruments: Thing[];
  }
}
