// A thousand random prescriptions through every format: the property of the normal suite, at full size.
import "../properties/round-trip.test.ts";
