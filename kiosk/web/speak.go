package web

import (
	"fmt"
	"html/template"
	"io/fs"
	"path"
	"regexp"
	"strings"
	"sync"
	"text/template/parse"

	"cribgate/core/quantity"
	"cribgate/core/trade"
)

// templates are the parsed pages by list of words and name. What a template says by
// itself is put into the list's words when it is parsed, and what a part's labels
// say, by the function "say", when it is drawn; what somebody typed goes through
// neither.
type templates map[trade.List]map[string]*template.Template

// list is the list of words of the crib that is visited.
func (v *visit) list() trade.List {
	return v.crib.Founded.Policy.Words.Under(v.crib.Founded.Rules)
}

// template is a page in the words of the crib that is visited.
func (s *Server) template(v *visit, page string) *template.Template {
	return s.templates[v.list()][page]
}

// parsedTemplates are parsed once in a program, for all its servers: they come with it,
// and drawing changes none of them.
var parsedTemplates = sync.OnceValues(func() (templates, error) {
	out := templates{}
	for _, list := range []trade.List{trade.US, trade.UK} {
		var err error
		if out[list], err = parsePages(list); err != nil {
			return nil, err
		}
	}
	return out, nil
})

// parsePages parses every page in the words of a list. Each of pages has a file in
// templates/page, and the other way round.
func parsePages(list trade.List) (map[string]*template.Template, error) {
	parts, err := parseInto(newTemplate(list), list, templateFiles, "templates/base.html", "templates/part/*.html")
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(templateFiles, "templates/page/*.html")
	if err != nil {
		return nil, fmt.Errorf("web: parse templates: %w", err)
	}
	out := map[string]*template.Template{}
	for _, file := range names {
		name := strings.TrimSuffix(path.Base(file), ".html")
		if pages[name] == nil {
			return nil, fmt.Errorf("web: template %s belongs to no page", file)
		}
		if out[name], err = parseInto(newTemplate(list), list, templateFiles, file); err != nil {
			return nil, err
		}
		if err := takeParts(out[name], parts, append([]string{"base"}, alone[name]...)...); err != nil {
			return nil, fmt.Errorf("web: parse %s: %w", file, err)
		}
	}
	for name := range pages {
		if out[name] == nil {
			return nil, fmt.Errorf("web: page %s has no template", name)
		}
	}
	return out, nil
}

// alone are the parts that are drawn without their page, for a script to put in their
// place, see renderPart.
var alone = map[string][]string{"lift": {"lift-live"}, "on-bench": {"bench-live"}, "rack": {"searched"}, "register": {"details-found"}, "sling": {"due-says"}}

// takeParts gives a page the parts of these names, unless it has its own, and what they
// use, and no others: a page that had all parts of all pages would take ten times the
// memory, since drawing changes the parts of each page for itself.
func takeParts(page, parts *template.Template, names ...string) error {
	taken := map[string]bool{}
	for len(names) > 0 {
		name := names[0]
		if names = names[1:]; taken[name] {
			continue
		}
		taken[name] = true
		own := page.Lookup(name)
		if own == nil {
			part := parts.Lookup(name)
			if part == nil {
				return fmt.Errorf("there is no part %q", name)
			}
			var err error
			if own, err = page.AddParseTree(name, part.Tree.Copy()); err != nil {
				return err
			}
		}
		names = append(names, partsIn(own.Tree.Root)...)
	}
	return nil
}

// partsIn names the parts that a template uses.
func partsIn(n parse.Node) (names []string) {
	both := func(b parse.BranchNode) {
		names = append(names, partsIn(b.List)...)
		if b.ElseList != nil {
			names = append(names, partsIn(b.ElseList)...)
		}
	}
	switch n := n.(type) {
	case *parse.TemplateNode:
		names = append(names, n.Name)
	case *parse.ListNode:
		for _, each := range n.Nodes {
			names = append(names, partsIn(each)...)
		}
	case *parse.IfNode:
		both(n.BranchNode)
	case *parse.RangeNode:
		both(n.BranchNode)
	case *parse.WithNode:
		both(n.BranchNode)
	}
	return names
}

// dayWords says a day that a field has, "2 Mar 2026"; nothing of any other text.
func dayWords(iso string) string {
	d, err := quantity.ParseDate(iso)
	if err != nil {
		return ""
	}
	return d.Long()
}

func newTemplate(list trade.List) *template.Template {
	return template.New("page").Option("missingkey=error").Funcs(template.FuncMap{"say": list.Say, "day": dayWords})
}

// parseInto adds the files that match to a template, in the words of a list.
func parseInto(t *template.Template, list trade.List, files fs.FS, patterns ...string) (*template.Template, error) {
	for _, pattern := range patterns {
		names, err := fs.Glob(files, pattern)
		if err != nil {
			return nil, fmt.Errorf("web: parse %s: %w", pattern, err)
		}
		for _, name := range names {
			source, err := fs.ReadFile(files, name)
			if err == nil {
				_, err = t.Parse(spoken(string(source), list))
			}
			if err != nil {
				return nil, fmt.Errorf("web: parse %s: %w", name, err)
			}
		}
	}
	return t, nil
}

var (
	// Actions, and tags with the actions in them; between them stands what is said.
	unsaid = regexp.MustCompile(`(?s)\{\{.*?\}\}|<(?:\{\{.*?\}\}|[^>])*>`)
	// What a tag says to those who hear the page.
	heard = regexp.MustCompile(`(?s)( (?:aria-label|title|alt|placeholder)=")([^"{]*)`)
)

// spoken puts what a template's source says into the words of a list.
func spoken(source string, list trade.List) string {
	var b strings.Builder
	at := 0
	for _, m := range unsaid.FindAllStringIndex(source, -1) {
		b.WriteString(list.Say(source[at:m[0]]))
		tag := source[m[0]:m[1]]
		if tag[0] == '<' {
			tag = heard.ReplaceAllStringFunc(tag, func(part string) string {
				name, text, _ := strings.Cut(part, `"`)
				return name + `"` + list.Say(text)
			})
		}
		b.WriteString(tag)
		at = m[1]
	}
	b.WriteString(list.Say(source[at:]))
	return b.String()
}
