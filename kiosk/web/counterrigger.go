package web

import (
	"net/http"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// RiggerPage picks by name who takes slings.
type RiggerPage struct {
	Base
	Find   Field
	Recent []RiggerName // who was here last, the latest first
	Names  []RiggerName // the others, by name
	Empty  string
	Others bool // a search left some out
	Heap   []Action
	Scan   ScanBox
}

// A RiggerName is one big button.
type RiggerName struct {
	ID       string
	Name     string
	Initials string // of all words of the name, in small letters
	On       bool   // takes slings now
}

func (s *Server) riggerPage(v *visit) error {
	return s.renderRiggers(v, http.StatusOK, "", "")
}

// renderRiggers shows all riggers, or those whose name holds every word that was
// looked for.
func (s *Server) renderRiggers(v *visit, status int, find, complaint string) error {
	people, err := s.Store.People(v.r.Context())
	if err != nil {
		return err
	}
	t := s.turn(v)
	p := &RiggerPage{Base: Base{Title: "Who takes slings?"}, Scan: ScanBox{Key: newKey(), Away: true},
		Find: Field{Name: "find", Label: "Find a name", Hint: "Or its initials", Value: find, Error: complaint, Type: "search", Most: maxName}}
	for _, who := range people {
		if !who.May(event.Rigger, v.today) {
			continue
		}
		if !isMeant(who.Name, find) {
			p.Others = true
			continue
		}
		p.Names = append(p.Names, RiggerName{ID: who.ID.String(), Name: who.Name, Initials: initials(who.Name), On: who.ID.String() == t.Rigger})
	}
	if p.Recent, p.Names, err = s.recentFirst(v.r.Context(), p.Names); err != nil {
		return err
	}
	if p.Heap, err = s.heapSteps(v); err != nil {
		return err
	}
	p.Empty = "Nobody here may draw gear yet. The keeper adds riggers on the people page."
	if p.Others {
		p.Empty = "No rigger here has this in their name."
	}
	return s.render(v, status, "rigger", p)
}

// holdsWords tells whether a name holds every word, in any case.
func holdsWords(name, find string) bool {
	name = strings.ToLower(name)
	for word := range strings.FieldsSeq(strings.ToLower(find)) {
		if !strings.Contains(name, word) {
			return false
		}
	}
	return true
}

// chooseRigger keeps who takes slings, or shows the names that were looked for.
func (s *Server) chooseRigger(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	if v.raw("rigger") == "" {
		find, complaint := v.line("find", maxName)
		status := http.StatusOK
		if complaint != "" {
			find, status = "", http.StatusUnprocessableEntity
		}
		return s.renderRiggers(v, status, find, complaint)
	}
	id, err := event.ParsePersonID(v.raw("rigger"))
	if err != nil {
		return errNoPage
	}
	who, err := s.Store.Person(v.r.Context(), id)
	if err != nil {
		return err
	}
	if !who.May(event.Rigger, v.today) {
		return &Visible{Code: NotAllowed, Sentence: "This person may not draw gear.", Next: "Send them to the keeper, or pick someone else."}
	}
	return s.riggerComes(v, s.turn(v), who, key)
}

// riggerComes makes a person the one who takes slings. Whoever came before is done:
// their lifts and their slings are not this one's. Slings that were scanned before
// anybody came are.
func (s *Server) riggerComes(v *visit, t *turn, who state.Person, key string) error {
	if t.Rigger != "" && t.Rigger != who.ID.String() {
		newest, left := t.newest(), len(t.lines())
		fresh := t.afresh()
		fresh.Last = t.Last
		if newest != nil && newest.waits() {
			fresh.put(card{Sling: newest.Sling, Text: newest.Text, Way: newest.Way, Typed: newest.Typed})
			if newest.Edge == MayGo {
				left--
			}
		}
		if left > 0 {
			s.notice(v, plural(left, "sling")+" for the one before: not handed over. They stay here.")
		}
		t = fresh
	}
	t.Rigger = who.ID.String()
	for i := len(t.Cards) - 1; i >= 0; i-- {
		if c := &t.Cards[i]; c.waits() {
			if err := s.ask(v, t, c, key+"."+strconv.Itoa(c.N)); err != nil {
				return err
			}
		}
	}
	newest := t.newest()
	_, stated := v.stated(t.purpose(t.Now))
	if stated || newest != nil && newest.waits() && newest.Edge != "" {
		return s.toCard(v, t, newest)
	}
	// Nothing stands against it yet, so what for is asked next.
	if err := s.keepTurn(v, t); err != nil {
		return err
	}
	what, err := s.whatFor(v, t)
	if err != nil {
		return err
	}
	if what.Key != "" {
		return v.redirect("/counter")
	}
	return v.redirect(liftPath)
}

// badged takes a badge that was scanned: it names who takes slings, and nothing
// more. On a page that somebody fills in it is said there.
func (s *Server) badged(v *visit, text string, way counter.Way, key string) error {
	t := s.turn(v)
	who, codes, err := s.Counter.Badge(v.r.Context(), text)
	if err != nil {
		return err
	}
	switch {
	case len(codes) > 0:
	case !v.may(actIssue):
		codes = []gate.Reason{gate.RoleNotAllowed}
	case !who.May(event.Rigger, v.today):
		codes = []gate.Reason{gate.RiggerNotCleared}
	}
	if len(codes) > 0 {
		c := t.put(card{Way: way, Badge: true, Codes: codeWords(codes)})
		c.hang(unknownSight(c), v.wordsOf(nil))
		return s.toCard(v, t, c)
	}
	if v.raw("stay") != "" {
		s.notice(v, who.Name+" takes slings.")
	}
	return s.riggerComes(v, t, who, key)
}

func codeWords(codes []gate.Reason) []string {
	list := make([]string, len(codes))
	for i, r := range codes {
		list[i] = r.String()
	}
	return list
}
