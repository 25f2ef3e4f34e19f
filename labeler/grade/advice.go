package grade

import (
	"fmt"
	"math"
)

// An Act is one thing to change in the printing. The zero value is none.
type Act uint8

// The acts. When each is advised is common practice, no source.
const (
	LessHeat   Act = iota + 1 // modules have grown
	MoreHeat                  // modules have shrunk
	Darker                    // dark is pale, as far as this picture can tell
	MendDamage                // single spots are wrong
	CleanHead                 // modules are patchy
	Proportion                // wider than high, or the other way
	EvenFeed                  // the grid wanders
	FreeMargin                // something stands in the clear margin
	SquareOn                  // not the print: some figures need a straighter picture
	lastAct
)

// Bounds beyond which something is advised.
const (
	growthNoticed = 0.15 // of a module, over both of its sides
	paleContrast  = 0.55 // of dark from light, as a share of light
)

var actKeys = [lastAct]string{"none", "less-heat", "more-heat", "darker", "mend-damage", "clean-head", "proportion", "even-feed", "free-margin", "square-on"}

// Key is the act's stable spelling for machines.
func (a Act) Key() string {
	if a >= lastAct {
		a = 0
	}
	return actKeys[a]
}

// Advice is what to change, and the figure that speaks for it.
type Advice struct {
	Act    Act
	Figure float64 // share of a module, of light, or the parameter's own value
}

// Sentence says the advice to a person.
func (a Advice) Sentence() string {
	percent := fmt.Sprintf("%.0f %%", math.Abs(a.Figure)*100)
	switch a.Act {
	case LessHeat:
		return "Too much heat or ink: dark modules grow by " + percent + ". Less heat, or faster; on a laser less power."
	case MoreHeat:
		return "Too little heat or ink: dark modules shrink by " + percent + ". More heat, or slower; on a laser more power."
	case Darker:
		return "Dark is pale: it differs from light by " + percent + " only. More heat, or slower; or the picture was taken in poor light."
	case MendDamage:
		return "Single spots are wrong: look for dirt, scratches and gaps on the symbol, and print it anew."
	case CleanHead:
		return "Modules are patchy: clean the print head, the ribbon and the surface; on a laser set the focus."
	case Proportion:
		return "The symbol is stretched by " + percent + " along one side: print at full size, without fitting to the page; see to the feed."
	case EvenFeed:
		return "The rows of modules wander: see to the feed and that the blank lies flat."
	case FreeMargin:
		return "Something dark stands in the clear margin: four modules on every side stay free of print, edge and hole."
	case SquareOn:
		return "Hold the camera square on to the tag: some figures cannot be given from the side."
	}
	return "Nothing to change."
}
