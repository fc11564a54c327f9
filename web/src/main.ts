// Starts the page.
import "@fontsource/atkinson-hyperlegible/latin-400.css";
import "@fontsource/atkinson-hyperlegible/latin-700.css";
import "./look/base.css";
import "./look/views.css";

import { mount } from "svelte";

import App from "./App.svelte";

mount(App, { target: document.getElementById("bench")! });
