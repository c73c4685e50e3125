/** The program's version, as in package.json; a test keeps the two equal. */
export const VERSION = "0.1.0";
