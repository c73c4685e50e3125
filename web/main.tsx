import {render} from "preact";
import "./style/fonts.css";
import "./style/sheet.css";
import "./style/head.css";
import "./style/field.css";
import "./style/book.css";
import "./style/preferences.css";
import "./style/files.css";
import "./style/charts.css";
import "./style/hand-over.css";
import "./style/print.css";
import {Bench} from "./bench.tsx";
import {keepView} from "./state/keep-view.ts";

keepView();
render(<Bench />, document.getElementById("bench") as HTMLElement);
