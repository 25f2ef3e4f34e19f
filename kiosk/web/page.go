package web

import (
	"bytes"
	"embed"
	"fmt"
	"net/http"
	"strings"

	"cribgate/core/quantity"
)

//go:embed templates
var templateFiles embed.FS

// pages names every page with its zero value; templates/page holds one file for
// each, and New refuses a file or a name without the other.
var pages = map[string]page{
	"bench":    &BenchPage{},
	"on-bench": &InspectionPage{},
	"figures":  &FiguresPage{},
	"clock":    &ClockPage{},
	"counter":  &CounterPage{},
	"count":    &CountPage{},
	"counted":  &CountSheetPage{},
	"examiner": &ExaminerPage{},
	"examine":  &ExaminePage{},
	"examined": &VisitSheetPage{},
	"lift":     &LiftPage{},
	"loan":     &LoanPage{},
	"shift":    &ShiftPage{},
	"rigger":   &RiggerPage{},
	"scanner":  &ScannerPage{},
	"day":      &DayPage{},
	"plan":     &PlanPage{},
	"liftslip": &LiftSlipPage{},
	"lacks":    &LacksPage{},
	"error":    &ErrorPage{},
	"heap":     &HeapPage{},
	"checks":   &CheckListPage{},
	"check":    &CheckPage{},
	"told":     &ToldPage{},
	"away":     &AwayPage{},
	"today":    &TodayPage{},
	"pair":     &PairPage{},
	"people":   &PeoplePage{},
	"person":   &PersonPage{},
	"marked":   &MarkedPage{},
	"paper":    &PaperPage{},
	"pad":      &PadPage{},
	"strays":   &StraysPage{},
	"phone":    &PhonePage{},
	"pin":      &PINPage{},
	"sign-in":  &SignInPage{},
	"rack":     &RackPage{},
	"sling":    &SlingPage{},
	"kept":     &KeptPage{},
	"held":     &HeldSlipPage{},
	"correct":  &CorrectPage{},
	"register": &RegisterPage{},
	"report":   &ReportPage{},
	"outside":  &OutsidePage{},
	"tag":      &TagPage{},
	"tags":     &TagsPage{},
	"compare":  &ComparePage{},
	"copies":   &CopiesPage{},
	"setup":    &SetupPage{},
	"seal":     &SealPage{},
}

// A page is a struct that embeds Base.
type page interface{ base() *Base }

// Base is what every page shows around its own matter.
type Base struct {
	Title   string
	Crib    string
	Lang    string // of the crib's words
	Assets  string // address of the embedded files, with a slash at the end
	Theme   string // "day", "night", or empty: as the device has it
	Silent  bool   // this browser makes no sound
	Path    string // where a form that is not the page's own comes back to
	Places  []place
	Person  string // empty: nobody is signed in
	Roles   string
	Made    Made    // what the page was made from
	Today   string  // the crib's date, so that a wrong clock is seen
	Notice  string  // what has just been done
	Doubt   string  // that the clock is in doubt; empty where it is not, or the page says so itself
	Broken  string  // the register does not hold; empty where it does, as far as anybody knows
	Wants   []Want  // what somebody has to do something about, for those who work here
	Head    string  // position and hash in short, for whoever prints the page; empty where nobody is signed in
	Sheet   bool    // it is printed and kept: it shows the head, as a symbol too
	Drawn   Drawing // of the head, on a sheet
	Key     string  // makes sending a form twice the same as once
	Version string
}

func (b *Base) base() *Base { return b }

// A place is one of the places of the house in the row at the top.
type place struct {
	Name string
	Path string
	Here bool
	act  act
}

// render answers with a page. It is written to memory first, so that a template
// that fails leaves no half page.
func (s *Server) render(v *visit, status int, name string, p page) error {
	if err := s.dress(v, p.base()); err != nil {
		return err
	}
	var out bytes.Buffer
	if err := s.template(v, name).ExecuteTemplate(&out, "base", p); err != nil {
		return fmt.Errorf("web: render page %s: %w", name, err)
	}
	if answered, err := v.same(out.Bytes(), p.base().Made); answered || err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	v.w.WriteHeader(status)
	if v.r.Method == http.MethodHead {
		return nil
	}
	if _, err := out.WriteTo(v.w); err != nil {
		// The browser is gone; there is nobody to tell.
		s.Log.InfoContext(v.r.Context(), "answer not delivered", "id", v.id, "error", err)
	}
	return nil
}

// dress fills in what every page shows.
func (s *Server) dress(v *visit, b *Base) error {
	b.Crib = v.crib.Founded.Name
	b.Lang = v.list().Lang()
	b.Assets = s.assets.prefix
	b.Theme, b.Silent = themeOf(v.r), silent(v.r)
	b.Version = s.Version
	b.Today = v.today.Long()
	b.Made = s.madeFrom(v)
	b.Broken = s.broken()
	b.Key = newKey()
	if !v.byItself() {
		b.Notice = s.Desk.Sessions().TakeNotice(v.r.Context())
	}
	b.Path = "/"
	if v.r.Method == http.MethodGet {
		b.Path = v.r.URL.EscapedPath()
	}
	if v.who.ID.IsZero() {
		return nil
	}
	b.Person, b.Roles = v.who.Name, v.who.Roles.String()
	b.Head = v.head.String()
	if b.Sheet {
		var err error
		if b.Drawn, err = drawHead(v.head); err != nil {
			return err
		}
	}
	if v.standing.OneTime {
		return nil
	}
	var err error
	if b.Wants, err = s.wants(v); err != nil {
		return err
	}
	if v.r.URL.Path != clockPath {
		b.Doubt = doubtSentence(v.clock)
	}
	for _, p := range s.nav {
		if v.may(p.act) {
			p.Here = v.r.URL.Path == p.Path || strings.HasPrefix(v.r.URL.Path, p.Path+"/")
			b.Places = append(b.Places, p)
		}
	}
	return nil
}

// today is the crib's local date, which decides what is due.
func (s *Server) today(v *visit) quantity.Date { return v.today }

// Day writes a date for people, "2 Mar 2026"; "none" for no date.
func Day(d quantity.Date) string {
	if d.IsZero() {
		return "none"
	}
	return d.Long()
}

// notice keeps a sentence that the next page shows at its top.
func (s *Server) notice(v *visit, sentence string) {
	s.Desk.Sessions().PutNotice(v.r.Context(), sentence)
}
