// The properties of zones on five hundred random fields: with the reference suite the same tests run on more of them.
import "../../properties/zones.test.ts";
