/** Where the bench is served unless another port is asked for. */
export const USUAL_PORT = 4173;
