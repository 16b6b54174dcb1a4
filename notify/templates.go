package notify

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"text/template"
	"text/template/parse"
	"unicode/utf8"

	"ventdue/desk/wording"
	"ventdue/vent"
)

// The bounds of an operator's own words. A template has no loops and calls nothing, so that these bound its time as well.
const (
	templateEnd   = ".tmpl"
	maxTemplate   = 16 << 10 // bytes of a file
	maxField      = 200      // characters of a field
	maxPart       = 8 << 10  // bytes that a part may give
	maxHeadline   = 300      // bytes of a subject or title
	maxParagraphs = 20       // of an intro or closing
)

// Templates are an operator's own words in place of the built-in ones, by kind of mail and language. The zero value has none.
//
// A file KIND.LANGUAGE.tmpl (run_due.en.tmpl) may define the parts subject, title, intro and closing. Subject and title take the place
// of ours; intro stands below the date, closing at the end. Everything else (the date, what and where, why, cautions, whom to
// ask, the links) is written as always: no template can leave it out. Of a stop only the closing is theirs.
type Templates struct {
	by map[templateName]*template.Template
}

type templateName struct {
	kind vent.NoticeKind
	lang string
}

// The parts that a template may define.
const (
	partSubject = "subject"
	partTitle   = "title"
	partIntro   = "intro"
	partClosing = "closing"
)

// partsOf gives the parts that a kind's template may define.
func partsOf(kind vent.NoticeKind) []string {
	if kind == vent.NoticeStop {
		return []string{partClosing}
	}
	return []string{partSubject, partTitle, partIntro, partClosing}
}

// LoadTemplates reads the templates of a folder; "" has none. Files with another end than .tmpl are left alone. Each template is
// tried with a sample and with nothing; every fault is named with its file and line, and then none is taken.
func LoadTemplates(dir string) (Templates, error) {
	t := Templates{by: map[templateName]*template.Template{}}
	if dir == "" {
		return t, nil
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return t, fmt.Errorf("mail templates: %w", err)
	}
	var faults []error
	for _, e := range entries {
		if filepath.Ext(e.Name()) != templateEnd || strings.HasPrefix(e.Name(), ".") {
			continue
		}
		name, own, err := loadTemplate(filepath.Join(dir, e.Name()))
		if err != nil {
			faults = append(faults, fmt.Errorf("mail template %s: %w", filepath.Join(dir, e.Name()), err))
			continue
		}
		t.by[name] = own
	}
	return t, errors.Join(faults...)
}

func loadTemplate(path string) (name templateName, own *template.Template, err error) {
	kind, lang, _ := strings.Cut(strings.TrimSuffix(filepath.Base(path), templateEnd), ".")
	name = templateName{vent.NoticeKind(kind), lang}
	if !slices.Contains(vent.NoticeKinds(), name.kind) || !slices.Contains(wording.Languages(), lang) {
		return name, nil, fmt.Errorf("is to be named KIND.LANGUAGE%s, with a kind that `ventdue mail preview --list` names and a language of %v", templateEnd, wording.Languages())
	}
	info, err := os.Stat(path)
	if err != nil {
		return name, nil, err
	}
	if !info.Mode().IsRegular() || info.Size() > maxTemplate {
		return name, nil, fmt.Errorf("is no file of at most %d bytes", maxTemplate)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return name, nil, err
	}
	own, err = parseTemplate(name, string(text))
	return name, own, err
}

// parseTemplate reads a template and tries it.
func parseTemplate(name templateName, text string) (*template.Template, error) {
	if !utf8.ValidString(text) || len(text) > maxTemplate {
		return nil, fmt.Errorf("is not text in UTF-8 of at most %d bytes", maxTemplate)
	}
	own, err := template.New("line").Parse(text)
	if err != nil {
		return nil, tidy(err)
	}
	for _, t := range own.Templates() {
		if t.Tree == nil {
			continue
		}
		if t == own {
			if where, blank := firstWords(t.Tree); !blank {
				return nil, fmt.Errorf("%s: words stand outside of a {{define}}, and belong to no part", where)
			}
			continue
		}
		if !slices.Contains(partsOf(name.kind), t.Name()) {
			return nil, fmt.Errorf("%s: a mail of kind %s has no part %q of yours, only %s", at(t.Tree, t.Root), name.kind, t.Name(), strings.Join(partsOf(name.kind), ", "))
		}
		if err := permitted(t.Tree, t.Root); err != nil {
			return nil, err
		}
		for _, f := range []TemplateFields{sampleFields(name), {}} {
			if _, err := runPart(own, t.Name(), f); err != nil {
				return nil, err
			}
		}
	}
	return own, nil
}

// tidy leaves out what the library puts before file and line.
func tidy(err error) error {
	return errors.New(strings.TrimPrefix(err.Error(), "template: "))
}

// at gives the line of a node.
func at(tree *parse.Tree, n parse.Node) string {
	where, _ := tree.ErrorContext(n)
	return where
}

// firstWords finds what stands outside of all parts.
func firstWords(tree *parse.Tree) (where string, blank bool) {
	for _, n := range tree.Root.Nodes {
		if text, isText := n.(*parse.TextNode); !isText || strings.TrimSpace(string(text.Text)) != "" {
			return at(tree, n), false
		}
	}
	return "", true
}

// permitted refuses all but fields, texts and conditions: no loops, no calls, nothing that takes long or gives much.
func permitted(tree *parse.Tree, n parse.Node) error {
	var children []parse.Node
	switch n := n.(type) {
	case *parse.TextNode, *parse.StringNode, *parse.CommentNode:
	case *parse.ListNode:
		if n != nil {
			children = n.Nodes
		}
	case *parse.ActionNode:
		children = []parse.Node{n.Pipe}
	case *parse.IfNode:
		children = []parse.Node{n.Pipe, n.List}
		if n.ElseList != nil {
			children = append(children, n.ElseList)
		}
	case *parse.PipeNode:
		if len(n.Decl) > 0 || len(n.Cmds) != 1 {
			return fmt.Errorf("%s: %s: variables and | are not for mail templates", at(tree, n), n)
		}
		children = n.Cmds[0].Args
	case *parse.IdentifierNode:
		if !slices.Contains([]string{"eq", "ne", "and", "or", "not"}, n.Ident) {
			return fmt.Errorf("%s: %s is not for mail templates: use if with eq, ne, and, or, not", at(tree, n), n.Ident)
		}
	case *parse.FieldNode:
		if _, known := reflect.TypeFor[TemplateFields]().FieldByName(n.Ident[0]); !known || len(n.Ident) > 1 {
			return fmt.Errorf("%s: there is no field %s; there are %s", at(tree, n), n, strings.Join(fieldNames(), ", "))
		}
	default:
		return fmt.Errorf("%s: %s is not for mail templates: use fields, and if with eq, ne, and, or, not", at(tree, n), n)
	}
	for _, c := range children {
		if err := permitted(tree, c); err != nil {
			return err
		}
	}
	return nil
}

func fieldNames() (names []string) {
	for f := range reflect.TypeFor[TemplateFields]().Fields() {
		names = append(names, "."+f.Name)
	}
	return names
}

// bounded takes so much and no more.
type bounded struct {
	strings.Builder
	left int
}

func (b *bounded) Write(p []byte) (int, error) {
	if b.left -= len(p); b.left < 0 {
		return 0, errors.New("gives too much text")
	}
	return b.Builder.Write(p)
}

// runPart gives the words of a part; "" where the template does not define it.
func runPart(own *template.Template, part string, f TemplateFields) (string, error) {
	t := own.Lookup(part)
	if t == nil {
		return "", nil
	}
	out := bounded{left: maxPart}
	if part == partSubject || part == partTitle {
		out.left = maxHeadline
	}
	if err := t.Execute(&out, f); err != nil {
		return "", tidy(err)
	}
	return strings.TrimSpace(out.String()), nil
}

// words gives the words of a part; "" where it is not theirs, or fails on what it is to tell: then ours stand, because no
// notice may be lost for a template.
func (t Templates) words(kind vent.NoticeKind, lang, part string, f TemplateFields) string {
	own, has := t.by[templateName{kind, lang}]
	if !has {
		return ""
	}
	text, err := runPart(own, part, f)
	if err != nil {
		return ""
	}
	return text
}

// paragraphs are divided by blank lines.
func paragraphs(text string) (all []string) {
	for p := range strings.SplitSeq(strings.ReplaceAll(text, "\r\n", "\n"), "\n\n") {
		if p = strings.TrimSpace(p); p != "" && len(all) < maxParagraphs {
			all = append(all, p)
		}
	}
	return all
}
