package web

import "net/http"

// ScannerPage tells how a hand scanner is set up, and shows what arrives.
type ScannerPage struct {
	Base
	Field Field
}

func (s *Server) scannerPage(v *visit) error {
	return s.render(v, http.StatusOK, "scanner", &ScannerPage{
		Base:  Base{Title: "Set up a scanner"},
		Field: Field{Name: "slow", Label: "Type here by hand", Hint: "A person’s typing is not touched"},
	})
}
