package web

import "net/http"

// live keeps a page told of the register's newest position. It says a number
// and nothing else, so it asks for no sign-in; pages of another origin are
// refused by the hub.
func (s *Server) live(w http.ResponseWriter, r *http.Request) {
	if err := s.Live.Serve(w, r); err != nil {
		s.Log.InfoContext(r.Context(), "a page does not follow the register", "id", requestID(r.Context()), "error", err)
	}
}
