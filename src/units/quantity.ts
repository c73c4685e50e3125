declare const unit: unique symbol;

/** A number that carries its unit in the type. Erased at run time: `metres(3) === 3`. */
export type Quantity<U extends string> = number & {readonly [unit]: U};

export type Metres = Quantity<"m">;
export type SquareMetres = Quantity<"m2">;
export type Degrees = Quantity<"deg">;

export const metres = (n: number): Metres => n as Metres;
export const squareMetres = (n: number): SquareMetres => n as SquareMetres;
export const degrees = (n: number): Degrees => n as Degrees;
