/** The text of the code in a picture of four bytes a pixel; it throws where there is none. */
export function decodeQR(
  image: { width: number; height: number; data: Uint8ClampedArray },
  pains?: { effort?: number; timeLimit?: number },
): string;
