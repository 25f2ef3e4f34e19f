// What every page runs. Each module leaves a page alone that lacks its mark.
import "./again.js";
import "./bench.js";
import "./burst.js";
import "./camera.js";
import "./check.js";
import "./keypad.js";
import "./live.js";
import "./looks.js";
import "./phone.js";
import "./places.js";
import "./rack.js";
import "./sound.js";
import "./counter.js";
import "./count.js";
import "./heap.js";
import "./outside.js";
import "./scanner.js";
