package web

import (
	"net/http"
	"regexp"
	"strings"
)

// ScannerPage tells how a hand scanner is set up, shows what arrives, and names
// this counter.
type ScannerPage struct {
	Base
	Field   Field
	Station Field
}

func (s *Server) scannerPage(v *visit) error {
	return s.renderScanner(v, http.StatusOK, stationOf(v.r), "")
}

func (s *Server) renderScanner(v *visit, status int, name, complaint string) error {
	return s.render(v, status, "scanner", &ScannerPage{
		Base:  Base{Title: "Set up a scanner"},
		Field: Field{Name: "slow", Label: "Type here by hand", Hint: "A person’s typing is not touched"},
		Station: Field{Name: "station", Label: "Name", Hint: "Small letters, digits and hyphens, like counter-2",
			Value: name, Error: complaint, Most: 24},
	})
}

// The station cookie says what the register calls this browser's counter.
const stationCookie = "cribgate_station"

// station is what the register calls a counter that was given no name.
const station = "counter-1"

var stationName = regexp.MustCompile(`^[a-z0-9]+(?:-[a-z0-9]+)*$`)

func stationOf(r *http.Request) string {
	c, err := r.Cookie(stationCookie)
	if err != nil || len(c.Value) > 24 || !stationName.MatchString(c.Value) {
		return station
	}
	return c.Value
}

// nameStation keeps in this browser what its counter is called.
func (s *Server) nameStation(v *visit) error {
	name, complaint := v.line("station", 24)
	name = strings.ToLower(name)
	if complaint == "" && !stationName.MatchString(name) {
		complaint = "Type small letters, digits and hyphens, like counter-2."
	}
	if complaint != "" {
		return s.renderScanner(v, http.StatusUnprocessableEntity, name, complaint)
	}
	http.SetCookie(v.w, &http.Cookie{Name: stationCookie, Value: name, Path: "/", MaxAge: 365 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: v.r.TLS != nil})
	s.notice(v, "What is done in this browser is now written down as done at "+name+".")
	return v.redirect("/scanner")
}
