package web

import "slices"

// What the parts in templates/part draw. Each takes one of these structs, with
// every text already in the crib's words and units.

// A Verdict chooses the shape of a plate and the edge of a card. The zero value
// is no verdict yet, drawn as neither.
type Verdict string

// The verdicts.
const (
	MayGo      Verdict = "may-go"      // a whole plate
	StaysHere  Verdict = "stays-here"  // a plate with its corner cut off
	LookCloser Verdict = "look-closer" // a plate half slid under another
)

// Words are the two words on the plate.
func (v Verdict) Words() [2]string {
	switch v {
	case MayGo:
		return [2]string{"May", "go"}
	case LookCloser:
		return [2]string{"Look", "closer"}
	case StaysHere:
		return [2]string{"Stays", "here"}
	}
	return [2]string{"No", "verdict"}
}

// A Plate is the verdict, the largest thing on the page.
type Plate struct {
	Verdict  Verdict
	Name     string // what it is about
	Sentence string // what is wrong, or that nothing is
	Rule     string // by which rule, in a few words
	InFull   string // the same with its source; empty: no more is to be said
	More     []Reason
}

// Rules are the rules on the plate in full, each once, for whoever wants to read
// them.
func (p Plate) Rules() []string { return inFull(append([]Reason{{InFull: p.InFull}}, p.More...)) }

func inFull(reasons []Reason) (list []string) {
	for _, r := range reasons {
		if r.InFull != "" && !slices.Contains(list, r.InFull) {
			list = append(list, r.InFull)
		}
	}
	return list
}

// A Reason is one more ground for the same verdict.
type Reason struct {
	Sentence string
	Rule     string
	InFull   string
}

// An Action is a big button: a link if it has a Path, else the submit button of
// the form around it.
type Action struct {
	Label string
	Sub   string // small print: which sling, which peg
	Path  string
	Name  string // name and value that the button sends, if any
	Value string
	First bool // the black one: what most people should do next
}

// A Card hangs on the rail.
type Card struct {
	Verdict Verdict
	Title   string
	Sub     string
	Note    string
	Path    string // where it leads; empty for nowhere
	Current bool   // the one that the page is about
}

// A Rail is a row of pegs, newest card first.
type Rail struct {
	Title string
	Cards []Card
	Empty string // what to say where nothing hangs
}

// A Fact is a label and its value, with the other unit in small print.
type Fact struct {
	Label string
	Value string
	Small string
	Over  bool // beyond its limit: marked in words by the value, and in colour
}

// A Strip is what is stamped on the metal.
type Strip struct {
	Title string
	Facts []Fact
}

// Working is how a result came about, step by step, never redone here.
type Working struct {
	Title string
	Steps []Step
}

// A Step is one line of a working.
type Step struct {
	Label string
	Value string
	Rule  string
}

// A Field is one line to fill in.
type Field struct {
	Name     string
	Label    string
	Value    string
	Hint     string // what is wanted, in small print
	Error    string // what is wrong with what was sent
	Unit     string // shown behind
	Type     string // "text" if empty; "password", "date", "file", "search"
	Mode     string // keyboard of a phone: "numeric", "decimal"; as the type if empty
	Complete string // autocomplete; "off" if empty
	Accept   string // of a file
	Most     int    // characters; 0 for no limit
	Needed   bool
	List     string // id of the datalist that is offered while typing
	Focus    bool   // stands ready to be typed into when the page opens
}

// A Choice is a question with big buttons for answers.
type Choice struct {
	Name    string
	Legend  string
	Hint    string
	Error   string
	Many    bool // several may be chosen
	Options []Option
}

// An Option is one answer.
type Option struct {
	Value string
	Label string
	Sub   string
	On    bool
}
