// The browser of page tests.
import { chromium } from "playwright-core";

export const launch = () => chromium.launch({ executablePath: process.env.HALFLIGHT_CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox"] });

/** When a page gives up waiting: far beyond what anything but a study takes, so that a loaded machine fails nothing. */
export const PATIENCE_MS = 60_000;
/** The same for what needs a study of the year. */
export const STUDY_PATIENCE_MS = 240_000;
