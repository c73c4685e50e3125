import {oddThread} from "./odd-thread.ts";

oddThread("counting without end", () => {
  for (;;);
});
