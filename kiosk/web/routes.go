package web

// A route is one line of the table below.
type route struct {
	method string
	path   string // as net/http.ServeMux wants it
	act    act    // what one must be allowed to do; see acts
	nav    string // its name among the places of the house; empty for none
	body   int64  // most bytes of a form; 0 stands for maxForm
	serve  func(*Server, *visit) error
}

// maxForm is the most bytes of a form without a file.
const maxForm = 64 << 10

// routes are all pages. The places of the house are shown in this order. No
// address carries what was scanned or typed: codes are sent in forms.
func routes() []route {
	return []route{
		{method: "GET", path: "/{$}", act: actSelf, serve: (*Server).home},
		{method: "GET", path: "/people", act: actPeople, nav: "People", serve: (*Server).people},
		{method: "POST", path: "/people", act: actAddPeople, serve: (*Server).addPerson},
		{method: "POST", path: "/people/{person}/pin", act: actAddPeople, serve: (*Server).givePIN},
		{method: "GET", path: "/sign-in", act: actNothing, serve: (*Server).signInPage},
		{method: "POST", path: "/sign-in", act: actNothing, serve: (*Server).signIn},
		{method: "POST", path: "/sign-out", act: actNothing, serve: (*Server).signOut},
		{method: "GET", path: "/pin", act: actSelf, serve: (*Server).pinPage},
		{method: "POST", path: "/pin", act: actSelf, serve: (*Server).choosePIN},
		{method: "POST", path: "/theme", act: actNothing, serve: (*Server).setTheme},
	}
}
