package worn

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"time"
)

// A Table is what readers made of frames.
type Table struct {
	Readers []Reader
	Results []Result
	Start   []time.Duration // that being called takes each reader; nil where it was not measured
	Each    bool            // a line for each kind at each severity too
}

// WrongTexts are the results in which one of our readers read what is not there.
func (t Table) WrongTexts() (wrong []Result) {
	for _, r := range t.Results {
		for i, reader := range t.Readers {
			if reader.Ours && r.Readings[i].Outcome == Wrong {
				wrong = append(wrong, r)
				break
			}
		}
	}
	return wrong
}

// tagged tells whether a frame counts as one with a tag to read as it is: what shows
// none, or is hidden so far that it takes a register, is counted apart.
func (r Result) tagged() bool { return len(r.Texts) > 0 && r.Set != Quarter.String() }

// Write prints the table: of how many frames error correction could mend what is seen
// at the symbol's true place; for each reader how many it read right, wrong and not;
// then its time, as shares of the median of ZXingReader, or in milliseconds where that
// is not there.
func (t Table) Write(w io.Writer) error {
	tw := tabwriter.NewWriter(w, 0, 0, 3, ' ', tabwriter.AlignRight)
	line := func(cells ...string) { fmt.Fprintln(tw, strings.Join(cells, "\t")+"\t") }
	header := []string{"right/wrong/unread", "frames", "still there"}
	for _, r := range t.Readers {
		header = append(header, r.Name)
	}
	line(header...)
	for _, g := range t.groups() {
		there := 0
		for _, r := range g.results {
			if r.Possible {
				there++
			}
		}
		cells := []string{g.name, fmt.Sprint(len(g.results)), fmt.Sprint(there)}
		for i := range t.Readers {
			var n [outcomes]int
			for _, r := range g.results {
				n[r.Readings[i].Outcome]++
			}
			cells = append(cells, fmt.Sprintf("%d/%d/%d", n[Right], n[Wrong], n[Unread]))
		}
		line(cells...)
	}
	unit, name := t.unit()
	line("time, " + name)
	for _, row := range []struct {
		name string
		want func(Result) bool
		at   int // in 100
	}{
		{"median", Result.tagged, 50}, {"95 in 100", Result.tagged, 95},
		{"no tag, median", func(r Result) bool { return len(r.Texts) == 0 }, 50}, {"no tag, 95 in 100", func(r Result) bool { return len(r.Texts) == 0 }, 95},
	} {
		cells := []string{row.name, fmt.Sprint(len(t.times(0, row.want))), ""}
		if cells[1] == "0" {
			continue
		}
		for i := range t.Readers {
			cells = append(cells, fmt.Sprintf("%.2f", float64(quantile(t.times(i, row.want), row.at))/float64(unit)))
		}
		line(cells...)
	}
	if t.Start != nil {
		cells := []string{"of it, being called", "", ""}
		for _, s := range t.Start {
			cells = append(cells, fmt.Sprintf("%.2f", float64(s)/float64(unit)))
		}
		line(cells...)
	}
	if err := tw.Flush(); err != nil {
		return fmt.Errorf("worn: print the table: %w", err)
	}
	return nil
}

// A group is one line of the table.
type group struct {
	name    string
	results []Result
}

func (t Table) groups() (all []group) {
	add := func(name string, want func(Result) bool) {
		g := group{name: name}
		for _, r := range t.Results {
			if want(r) {
				g.results = append(g.results, r)
			}
		}
		if len(g.results) > 0 {
			all = append(all, g)
		}
	}
	for s := 1; s <= Severities; s++ {
		add(fmt.Sprintf("severity %d", s), func(r Result) bool { return r.tagged() && r.Severity == s })
	}
	add("all", Result.tagged)
	var sets []string
	for _, r := range t.Results {
		if !slices.Contains(sets, r.Set) {
			sets = append(sets, r.Set)
		}
	}
	for _, set := range sets {
		add(set, func(r Result) bool { return r.Set == set })
		for s := 1; t.Each && s <= Severities; s++ {
			add(fmt.Sprintf("%s %d", set, s), func(r Result) bool { return r.Set == set && r.Severity == s })
		}
	}
	return all
}

// unit is what times are shares of, and what that is called.
func (t Table) unit() (time.Duration, string) {
	for i, r := range t.Readers {
		if r.Name != zxing {
			continue
		}
		if times := t.times(i, Result.tagged); len(times) > 0 {
			m := quantile(times, 50)
			return m, fmt.Sprintf("1 is %s's median, %.1f ms", zxing, m.Seconds()*1000)
		}
	}
	return time.Millisecond, "in milliseconds"
}

// times are how long a reader took, shortest first.
func (t Table) times(reader int, want func(Result) bool) (all []time.Duration) {
	for _, r := range t.Results {
		if want(r) {
			all = append(all, r.Readings[reader].Took)
		}
	}
	slices.Sort(all)
	return all
}

// quantile is the least that so many in 100 do not exceed.
func quantile(sorted []time.Duration, in100 int) time.Duration {
	return sorted[(len(sorted)*in100+99)/100-1]
}
