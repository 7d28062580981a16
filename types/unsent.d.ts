// A day that was begun without the station, for the type checker alone.

declare namespace Page {
  interface UnsentLink extends Couple {
    towing: string;
    at: string;
    trailer: string;
  }

  /** `x`: along the vehicle, rearward from its front axle; `vertical`: what it may carry. */
  interface YardCoupling {
    id: string;
    type: string;
    x: number;
    vertical: number | null;
  }

  /** A vehicle of the yard as far as the pads need it, in metres and kilograms. */
  interface YardVehicle {
    id: string;
    title: string;
    tows: boolean;
    unit: "lb" | "kg";
    axles: { x: number; rating: number | null }[];
    couplings: YardCoupling[];
  }

  interface YardForPlan {
    vehicles: Record<string, YardVehicle>;
    instruments: Record<string, Instrument>;
  }

  /** What stands there by the answers. */
  interface Stood<V> {
    title: string;
    unit: "lb" | "kg";
    vehicles: V[];
    states: Record<string, StateTable>;
    instruments: Record<string, Instrument>;
  }

  /** A place where a pad can stand: `of` is its vehicle, `x` along the rig. */
  interface UnsentStation {
    place: string;
    name: string;
    spoken: string;
    of: string;
    side: string;
    x: number;
    rating: number | null;
    aboard: boolean;
  }

  interface UnsentRigDrawn {
    key: string;
    title: string;
    stations: UnsentStation[];
  }

  interface UnsentPlan extends Pick<Pads, "unit" | "instruments" | "states" | "state" | "ratings"> {
    title: string;
    vehicles: Record<string, string>;
    rigs: UnsentRigDrawn[];
  }

  /**
   * The answers of a day that the station does not have yet; `day` is what its drafts are queued under until then, `opens` the
   * address of a day at the pads, with DAY for its id. `faults`: what the station does not accept, by field.
   */
  interface UnsentRig {
    what: "rig";
    order: number;
    day: string;
    key: string;
    method: string;
    url: string;
    json: Record<string, string>;
    yard: YardForPlan;
    title: string;
    opens: string;
    made: number;
    blob?: undefined;
    after?: undefined;
    refused?: string;
    faults?: Record<string, string>;
    tries?: number;
  }

  /** The same once the station has it: under this id. It stays, for pages that do not know it yet. */
  interface MadeRig extends Pick<UnsentRig, "order" | "day" | "key" | "title" | "opens" | "made"> {
    what: "made";
    as: string;
    after?: undefined;
    refused?: undefined;
  }
}
