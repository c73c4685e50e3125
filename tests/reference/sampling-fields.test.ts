// The properties of sampling plans on all 500 random fields.
import "../properties/sampling.test.ts";
