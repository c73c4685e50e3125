// The same properties on a thousand prescriptions: see COUNT there.
import "../properties/prescription.test.ts";
