package returncheck

import (
	"cmp"
	"fmt"
	"slices"

	"cribgate/core/event"
)

// MostLooks and MostAsks are the most that a check has: what an attendant with others
// waiting still does (site policy, no source).
const (
	MostLooks = 4
	MostAsks  = 2
)

// A Check is what is looked at and asked when a sling comes back. The zero value asks
// nothing, and is never chosen.
type Check struct {
	Looks []Chosen // at least three, in the order in which they are looked at
	Asks  []Chosen // of whoever had it; at least one
}

// Chosen is a question, and why it was chosen: "its lift asked 92 % of its rating".
type Chosen struct {
	Question
	Because string
}

// All are the looks, and then what is asked.
func (c Check) All() []Chosen { return slices.Concat(c.Looks, c.Asks) }

// candidate is a question with what speaks for it; 0 and below leave it out.
type candidate struct {
	word    string
	weight  int
	because string
}

// always is why that is looked at whatever the facts are.
const always = "after every use"

// Choose chooses the check. The rating tag, the chain and the lower ends are looked at
// every time, and one thing more for which the most speaks; what was not well before
// goes before anything else. How much each weighs is site policy, no source.
func Choose(f Facts) Check {
	list := []candidate{{RatingTag, 200, always}, {f.chain(), 199, f.whyChain()}, {f.lower(), 198, f.whyLower()}}
	list = append(list, f.further()...)
	for i, c := range list {
		if is := f.before(c.word); is != "" {
			list[i].weight, list[i].because = 300+rank(is), f.whyBefore(is)
		}
	}
	for _, a := range f.Before.Open { // what was asked about that is not among them
		q, known := Find(a.Question)
		if known && !q.Asked && !slices.ContainsFunc(list, func(c candidate) bool { return c.word == q.Word }) && f.has(q.Word) {
			list = append(list, candidate{q.Word, 300 + rank(a.Is), f.whyBefore(a.Is)})
		}
	}
	list = slices.DeleteFunc(list, func(c candidate) bool { return c.weight <= 0 })
	slices.SortStableFunc(list, func(a, b candidate) int { return cmp.Compare(b.weight, a.weight) })
	edges := slices.ContainsFunc(list[min(MostLooks, len(list)):], func(c candidate) bool { return c.word == EdgeMarks })
	list = list[:min(MostLooks, len(list))]
	slices.SortStableFunc(list, func(a, b candidate) int { return cmp.Compare(place(a.word), place(b.word)) })
	var check Check
	for _, c := range list {
		check.Looks = append(check.Looks, c.chosen())
		if edges && c.word == f.chain() {
			check.Looks[len(check.Looks)-1].Seek += ". Notches where it lay over an edge"
		}
	}
	check.Asks = f.asks()
	return check
}

func (c candidate) chosen() Chosen {
	q, _ := Find(c.word)
	return Chosen{q, c.because}
}

// place is where a question stands in the closed list: a sling is looked at from the
// ring down.
func place(word string) int {
	return slices.IndexFunc(looks, func(q Question) bool { return q.Word == word })
}

// further are the candidates for one look more.
func (f Facts) further() []candidate {
	var list []candidate
	add := func(word string, weight int, because string) {
		if !slices.ContainsFunc(list, func(c candidate) bool { return c.word == word }) {
			list = append(list, candidate{word, weight, because})
		}
	}
	u := f.Use
	if u.Hot {
		add(HeatMarks, 90, "its lift was hot")
	}
	if u.Edge {
		add(EdgeMarks, 80, "its lift bore on an edge")
	}
	if u.Share >= hard {
		add(Couplers, 75, f.asked())
	}
	if f.Adjustable && u.Shortened {
		add(Adjusters, 70, "its legs were shortened")
	}
	if u.Choked {
		add(EdgeMarks, 65, "its lift was choked")
	}
	if f.Inspected.IsZero() {
		add(ForeignParts, 60, "no thorough inspection is on record")
	} else if f.longSince() {
		add(ForeignParts, 60, "more than half the time since its thorough inspection has passed")
	}
	if f.Remark != "" {
		add(Couplers, 55, "its last thorough inspection noted something")
	}
	if f.Adjustable || f.Legs == 0 {
		add(Adjusters, 50, "its legs can be shortened")
	}
	if u.Share == 0 {
		add(Couplers, 45, f.asked())
	}
	return list
}

// has tells whether a sling of that make-up can have what a question is about.
func (f Facts) has(word string) bool {
	switch word {
	case Legs, Chain:
		return word == f.chain()
	case HookLatch, HookLock, HookOpen, Shackle, EndLink:
		return word == f.lower()
	case Adjusters:
		return f.Adjustable || f.Legs == 0
	}
	return true
}

// before is how a question was answered the last time, empty where it was well.
func (f Facts) before(word string) event.Is {
	for _, a := range f.Before.Open {
		if a.Question == word {
			return a.Is
		}
	}
	return ""
}

func rank(is event.Is) int {
	if is == event.IsWrong {
		return 2
	}
	return 1
}

func (f Facts) whyBefore(is event.Is) string {
	what := "in doubt"
	if is == event.IsWrong {
		what = "wrong"
	}
	return "it was " + what + " on " + f.Before.Day.Long()
}

// asked says what the lift asked.
func (f Facts) asked() string {
	switch {
	case !f.Use.Stated:
		return "nobody stated its lift"
	case f.Use.Share == 0:
		return "how much of its rating the lift asked is not known"
	}
	return fmt.Sprintf("its lift asked %d %% of its rating", f.Use.Share)
}

func (f Facts) whyChain() string {
	if f.hardUse() {
		return f.asked()
	}
	return always
}

func (f Facts) whyLower() string {
	if f.Lower == "" {
		return "what hangs at its lower ends is not on record"
	}
	return always
}

// asks are what its rigger is asked.
func (f Facts) asks() []Chosen {
	list := []Chosen{candidate{Mishap, 1, always}.chosen()}
	u := f.Use
	word := ""
	switch {
	case u.Share > 0 && u.Share <= harmless:
		return list // not even both could have overloaded it
	case u.Stated && u.Edge && u.Choked:
		return list
	case u.Stated && u.Edge:
		word = TightChoke
	case u.Stated && u.Choked:
		word = EdgeUnstated
	default:
		word = EdgeOrChoke
	}
	return append(list, candidate{word, 1, f.asked()}.chosen())
}
