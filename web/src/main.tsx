import { render } from "preact";
import "./look/look.css";

render(<main>Halflight</main>, document.body);
