// What every page runs. Each module leaves a page alone that lacks its mark.
import "./keypad.js";
import "./places.js";
import "./sound.js";
