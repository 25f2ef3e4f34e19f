package web

import (
	"net/http"
	"strings"

	"cribgate/core/event"
)

// RiggerPage picks by name who takes slings.
type RiggerPage struct {
	Base
	Find   Field
	Names  []RiggerName
	Empty  string
	Others bool // a search left some out
	Scan   ScanBox
}

// A RiggerName is one big button.
type RiggerName struct {
	ID   string
	Name string
	On   bool // takes slings now
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
		Find: Field{Name: "find", Label: "Find a name", Value: find, Error: complaint, Type: "search", Most: maxName}}
	for _, who := range people {
		if !who.May(event.Rigger, v.today) {
			continue
		}
		if !holdsWords(who.Name, find) {
			p.Others = true
			continue
		}
		p.Names = append(p.Names, RiggerName{ID: who.ID.String(), Name: who.Name, On: who.ID.String() == t.Rigger})
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
	t := s.turn(v)
	if t.Rigger != "" && t.Rigger != who.ID.String() {
		// The one before is done: their lift and their slings are not this one's.
		newest := t.newest()
		fresh := &turn{By: t.By}
		if newest != nil && newest.Done == notDone {
			fresh.put(*newest)
		}
		t = fresh
	}
	t.Rigger = who.ID.String()
	t.anew()
	if err := s.askNewest(v, t, key); err != nil {
		return err
	}
	newest := t.newest()
	_, stated := v.lift(t)
	if stated || newest != nil && newest.Sling != "" && newest.Done == notDone && newest.Edge != "" {
		return s.toCard(v, t, newest)
	}
	// Nothing stands against it yet, so the lift is what is asked next.
	if err := s.keepTurn(v, t); err != nil {
		return err
	}
	return v.redirect(liftPath)
}
