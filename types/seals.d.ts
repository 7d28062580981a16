// Types that the scripts of the page that checks seals share and that refer to themselves.

declare namespace Seals {
  /** A value of CBOR; a whole number beyond 2**53 is a bigint. */
  type Cbor = number | bigint | string | boolean | null | Uint8Array | Tagged | Cbor[] | Map<Cbor, Cbor>;

  /** A value behind a tag. */
  interface Tagged {
    tag: number;
    value: Cbor;
  }

  type Json = null | boolean | number | string | Json[] | { [name: string]: Json };

  /** A value of a PDF: a name such as /FlateDecode has a `text`, a reference a number of an object. */
  type Pdf = null | number | string | { refersTo: number } | { text: string } | Pdf[] | Map<string, Pdf>;
}
