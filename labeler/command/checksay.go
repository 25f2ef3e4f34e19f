package command

import (
	"fmt"
	"math"
	"strings"
	"text/tabwriter"

	"cribgate/core/strict"
	"cribgate/core/tagcode"
	"cribgate/labeler/grade"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
)

// people says what came of a picture as a table.
func (c checked) people() (string, error) {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	say := func(name, text string) { fmt.Fprintf(w, "  %s\t%s\n", name, text) } // a Builder takes all
	fmt.Fprintf(w, "%s: %s\n", c.image, c.sentence())
	for _, row := range c.says() {
		say(row[0], row[1])
	}
	if c.asked {
		if c.answer.sling != "" {
			say("sling", c.answer.sling)
		}
		say("who made it", c.answer.words)
	} else if c.graded {
		say("who made it", "not asked: --register or --key tells")
	}
	for _, f := range c.report.Faults {
		say("picture", f.Sentence()+" "+f.Next())
	}
	for _, a := range c.report.Advice {
		say("advice", a.Sentence())
	}
	if err := w.Flush(); err != nil {
		return "", err
	}
	if !c.report.Graded() {
		return b.String() + "\n", nil
	}
	fmt.Fprintf(w, "\n  parameter\tgrade\tmeasured\tlimits\n")
	for _, l := range c.report.Lines {
		measured := l.Measured
		if l.Missing != "" {
			measured = l.Missing
		}
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", l.Parameter, l.Grade, measured, l.Parameter.Limits())
	}
	if err := w.Flush(); err != nil {
		return "", err
	}
	return b.String() + "\n", nil
}

// footnotes say, once below all tables, what a camera cannot give and where the
// limits come from.
func footnotes() (string, error) {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "a camera cannot give\twhy\n")
	for _, a := range grade.CannotGive() {
		fmt.Fprintf(w, "%s\t%s\n", a.Name, a.Why)
	}
	if err := w.Flush(); err != nil {
		return "", err
	}
	fmt.Fprintf(w, "\nparameter\twhere its limits come from\n")
	for _, p := range grade.Parameters() {
		fmt.Fprintf(w, "%s\t%s\n", p, p.Source())
	}
	if err := w.Flush(); err != nil {
		return "", err
	}
	return b.String() + "\nA grade is of the print. Whether the sling may go out is decided at the counter.\n", nil
}

// sentence is the outcome in one line.
func (c checked) sentence() string {
	switch {
	case c.problem != 0:
		return c.problem.Sentence() + " " + c.problem.Next()
	case c.strange != nil:
		return "This symbol is no tag: " + c.strange.Error() + "."
	case c.asked && !c.answer.ours:
		return "This is not a tag to confirm. " + c.report.Sentence()
	}
	return c.report.Sentence()
}

// says is what the code says, as names and words.
func (c checked) says() [][2]string {
	switch c.kind {
	case tagcode.KindTag:
	case tagcode.NoKind:
		return nil
	default:
		return [][2]string{{"code", "a " + c.kind.String() + ": what it permits is decided at the counter"}}
	}
	facts := print.Facts(c.tag.Tag)
	inspected, due := facts[printtemplates.Inspected], "none recorded"
	if !c.tag.Inspected.IsZero() {
		inspected = c.tag.Inspected.Long() + ", " + c.tag.Outcome.String()
	}
	if !c.tag.Due.IsZero() {
		due = c.tag.Due.Long()
	}
	rows := [][2]string{
		{"tag", fmt.Sprintf("serial %d, short code %s, sling number %s", c.tag.Serial, facts[printtemplates.Code], c.tag.Number)},
		{"says", strings.Join([]string{facts[printtemplates.Size], facts[printtemplates.Grade], facts[printtemplates.Legs],
			"reach " + facts[printtemplates.Reach], strings.TrimSpace(facts[printtemplates.LoadName] + " " + facts[printtemplates.Load] + " " + facts[printtemplates.Angle])}, ", ")},
		{"inspected", inspected}, {"due", due},
	}
	if s := facts[printtemplates.Status]; s != "" {
		rows = append(rows, [2]string{"status", s})
	}
	return rows
}

// machine says the same as one line of JSON. The text of the code is not in it:
// whoever has that can print the tag.
func (c checked) machine() (string, error) {
	var w strict.Writer
	orNull := func(name, v string) {
		if v == "" {
			w.Null(name)
		} else {
			w.Str(name, v)
		}
	}
	w.Begin()
	w.Str("image", c.image)
	w.Bool("confirms", c.good())
	w.Str("sentence", c.sentence())
	orNull("kind", c.kind.String())
	if c.kind == tagcode.KindTag {
		w.Str("short", tagcode.ShortOf(c.tag.Number, c.tag.Serial).String())
		w.Str("number", c.tag.Number.String())
		w.Int("serial", int64(c.tag.Serial))
		orNull("inspected", c.tag.Inspected.String())
		orNull("due", c.tag.Due.String())
	}
	if c.asked {
		w.Bool("ours", c.answer.ours)
		orNull("sling", c.answer.sling)
		orNull("tag", c.answer.state)
	}
	if overall := c.report.Overall(); overall != grade.None {
		w.Str("overall", overall.String())
	} else {
		w.Null("overall")
	}
	w.List("parameters")
	for _, l := range c.report.Lines {
		w.Begin()
		w.Str("parameter", l.Parameter.Key())
		if l.Grade != grade.None {
			w.Str("grade", l.Grade.String())
		} else {
			w.Null("grade")
		}
		if math.IsNaN(l.Value) {
			w.Null("value_thousandths")
		} else {
			w.Int("value_thousandths", int64(math.Round(1000*l.Value)))
		}
		w.Str("source", l.Parameter.Source())
		w.End()
	}
	w.End()
	w.List("faults")
	for _, f := range c.report.Faults {
		w.ItemStr(f.Key())
	}
	w.End()
	w.List("advice")
	for _, a := range c.report.Advice {
		w.ItemStr(a.Act.Key())
	}
	w.End()
	w.List("cannot_give")
	for _, a := range grade.CannotGive() {
		w.ItemStr(a.Name)
	}
	w.End()
	w.End()
	line, err := w.Bytes()
	return string(line) + "\n", err
}
