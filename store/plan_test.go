package store

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"cribgate/store/sqlite"
)

// statements finds every SQL constant of this package in its source, so that
// none can be added without its plan being looked at.
func statements(t *testing.T) map[string]string {
	t.Helper()
	values := map[string]string{}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var value func(e ast.Expr) string
	value = func(e ast.Expr) string {
		switch e := e.(type) {
		case *ast.BasicLit:
			s, err := strconv.Unquote(e.Value)
			if err != nil {
				t.Fatal(err)
			}
			return s
		case *ast.BinaryExpr:
			return value(e.X) + value(e.Y)
		case *ast.Ident:
			return values[e.Name]
		}
		t.Fatalf("a statement is put together in a way this test cannot follow: %T", e)
		return ""
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, text, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range f.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || g.Tok != token.CONST {
				continue
			}
			for _, s := range g.Specs {
				v := s.(*ast.ValueSpec)
				if n := v.Names[0].Name; strings.HasPrefix(n, "sql") || strings.HasPrefix(n, "list") {
					values[n] = value(v.Values[0])
				}
			}
		}
	}
	for name := range values {
		if strings.HasPrefix(name, "list") {
			delete(values, name) // parts of statements
		}
	}
	return values
}

// scans is a walk over a whole table of ours in the words of EXPLAIN QUERY PLAN.
var scans = regexp.MustCompile(`^SCAN (log|body|answered|crib|person|sling|tag|word|tally|erased|drawn|planned|w)\b`)

// narrow names the way that a statement must go where another index would do,
// and would walk much more.
var narrow = map[string]string{
	"sqlOverdue":        "USING COVERING INDEX sling_due (stands=? AND due<?)",
	"sqlListDue":        "USING INDEX sling_due (stands=? AND due>? AND due<?)",
	"sqlListInspected":  "USING INDEX sling_inspected (stands=? AND inspected>? AND inspected<?)",
	"sqlListHolder":     "USING INDEX sling_holder (holder=? AND (ident,id)>(?,?))",
	"sqlListStands":     "USING INDEX sling_stands (stands=? AND (ident,id)>(?,?))",
	"sqlListBefore":     "USING INDEX sling_compared (compared>? AND compared<?)",
	"sqlListAfter":      "USING INDEX sling_compared (compared>?)",
	"sqlToCompare":      "USING COVERING INDEX sling_compared (compared>? AND compared<?)",
	"sqlListIdent":      "USING INDEX sling_ident ((ident,id)>(?,?) AND ident<?)",
	"sqlListWord":       "SEARCH word USING PRIMARY KEY (word=? AND (ident,id)>(?,?))",
	"sqlPlaceStands":    "USING INDEX sling_place (stands=? AND (place,ident,id)>(?,?,?))",
	"sqlPlaceDue":       "USING INDEX sling_due (stands=? AND due>? AND due<?)",
	"sqlPlaceInspected": "USING INDEX sling_inspected (stands=? AND inspected>? AND inspected<?)",
	"sqlListWants":      "USING INDEX sling_wants ((ident,id)>(?,?))",
	"sqlListWantsStock": "USING INDEX sling_wants_stock (stock=? AND (ident,id)>(?,?))",
	"sqlTagsUp":         "USING COVERING INDEX tag_stands (stands=? AND (day,ident,serial)>(?,?,?) AND day<?)",
	"sqlTagsDown":       "USING COVERING INDEX tag_stands (stands=? AND day>? AND (day,ident,serial)<(?,?,?))",
	"sqlTagsUpStock":    "USING COVERING INDEX tag_stock (stands=? AND stock=? AND (day,ident,serial)>(?,?,?) AND day<?)",
	"sqlTagsDownStock":  "USING COVERING INDEX tag_stock (stands=? AND stock=? AND day>? AND (day,ident,serial)<(?,?,?))",
	"sqlCountTags":      "USING COVERING INDEX tag_stands (stands=? AND day>? AND day<?)",
	"sqlCountTagsStock": "USING COVERING INDEX tag_stock (stands=? AND stock=? AND day>? AND day<?)",
	"sqlListOwes":       "USING INDEX sling_owes ((ident,id)>(?,?))",
	"sqlListDoubled":    "USING INDEX sling_doubled ((ident,id)>(?,?))",
	"sqlListSeen":       "USING INDEX sling_seen (seen=? AND (ident,id)>(?,?))",
	"sqlListNotSeen":    "USING INDEX sling_stands (stands=? AND (ident,id)>(?,?))",
	"sqlPlaceNotSeen":   "USING INDEX sling_place (stands=? AND (place,ident,id)>(?,?,?))",
	"sqlLoan":           "SEARCH drawn USING COVERING INDEX drawn_loan (loan=?)",
	"sqlLoansOf":        "USING INDEX drawn_rigger (rigger=? AND pos<?)",
	"sqlShiftGear":      "SEARCH drawn USING COVERING INDEX drawn_shift (pos<?)",
	"sqlPlannedOn":      "SEARCH planned USING COVERING INDEX planned_day (day>? AND day<?)",
	"sqlPlannedBy":      "SEARCH planned USING COVERING INDEX planned_rigger (rigger=? AND day>?)",
	"sqlPlanned":        "SEARCH planned USING COVERING INDEX planned_lift (lift=?)",
	"sqlAside":          "USING INDEX sling_aside (aside>? AND aside<?)",
	"sqlPegs":           "USING INDEX sling_place (stands=? AND place>? AND place<?)",
	"sqlBench":          "USING INDEX sling_bench ((bench,ident,id)>(?,?,?))",
	"sqlSeenAt":         "USING INDEX sling_seen_at (seen=? AND seen_at>? AND seen_at<?)",
	"sqlPeople":         "USING INDEX person_name ((name,id)>(?,?))",
	"sqlStory":          "USING INDEX log_subject (subject=?)",
}

// No statement walks a whole table or index, however large the register is.
func TestPlans(t *testing.T) {
	all := statements(t)
	if len(all) < 35 {
		t.Fatalf("only %d statements found; does the test still read the source rightly?", len(all))
	}
	layout, err := schema()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "register.sqlite")
	if err := sqlite.Create(t.Context(), path, layout, nil); err != nil {
		t.Fatal(err)
	}
	db, err := sqlite.Open(t.Context(), path, layout, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for name, statement := range all {
		args := make([]any, 13)
		for i := range args {
			args[i] = "x"
		}
		rows, err := db.Write.QueryContext(t.Context(), "EXPLAIN QUERY PLAN "+statement, args...)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var plan []string
		for rows.Next() {
			var id, parent, unused int
			var detail string
			if err := rows.Scan(&id, &parent, &unused, &detail); err != nil {
				t.Fatal(err)
			}
			plan = append(plan, detail)
			if scans.MatchString(detail) {
				t.Errorf("%s walks a whole table: %s\n%s", name, detail, statement)
			}
		}
		if err := rows.Err(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if err := rows.Close(); err != nil {
			t.Error(err)
		}
		if want := narrow[name]; !strings.Contains(strings.Join(plan, "\n"), want) {
			t.Errorf("%s does not go by %q:\n%s", name, want, strings.Join(plan, "\n"))
		}
	}
}

// Statements outside the constants would escape the test above.
func TestNoOtherSQL(t *testing.T) {
	allowed := map[string]bool{"PRAGMA quick_check(10)": true, "PRAGMA data_version": true}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if g, ok := n.(*ast.GenDecl); ok && (g.Tok == token.CONST || g.Tok == token.VAR) {
				return false
			}
			lit, ok := n.(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				return true
			}
			s, err := strconv.Unquote(lit.Value)
			if err == nil && regexp.MustCompile(`^(SELECT|INSERT|UPDATE|DELETE|PRAGMA|CREATE) `).MatchString(s) && !allowed[s] {
				t.Errorf("%s: a statement outside the constants: %s", name, s)
			}
			return true
		})
	}
}
