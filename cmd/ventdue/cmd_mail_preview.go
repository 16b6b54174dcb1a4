package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify"
	"ventdue/vent"
)

// allKinds asks for every kind of mail.
const allKinds = "all"

// mailKinds says when each kind of mail goes out.
var mailKinds = map[vent.NoticeKind]string{
	vent.NoticeRunDue:         "a run is to be looked at or cleaned",
	vent.NoticeCheckDue:       "a recurring check is due",
	vent.NoticeFault:          "a fault is to be put right by a day",
	vent.NoticeStop:           "nobody uses the dryer: at once",
	vent.NoticeVisitBooked:    "a visit was agreed",
	vent.NoticeVisitMoved:     "a visit has moved",
	vent.NoticeVisitCancelled: "a visit was called off",
	vent.NoticeVisitSoon:      "a visit comes near",
	vent.NoticeEntry:          "to who lives there: somebody will come in",
	vent.NoticeRecord:         "what was found and done on a visit",
	vent.NoticeSummary:        "to the operator each morning: what needs somebody",
}

type previewFlags struct {
	args   previewArgs
	out    string
	list   bool
	words  bool
	asJSON bool
}

func (a *app) mailPreviewCmd() *cobra.Command {
	var f previewFlags
	c := &cobra.Command{Use: "preview KIND", Short: "Look at a mail before anybody gets it",
		Long: `Look at a mail before anybody gets it: written as it would go out, of an invented home, or of a customer's own where --customer names one.
Nothing is sent or kept, and the links in it lead nowhere. KIND is one that --list names, or all.

--template prints the built-in words of a kind as a template: save it under the name that it says in the folder that mail.templates
names, and change it. Templates of your own are used by the preview too.

With --out each mail is written into a folder as KIND.LANGUAGE.eml and .html, without it the text is printed.`,
		Example: "  ventdue mail preview run_due\n  ventdue mail preview visit_booked --lang es --customer rivera\n  ventdue mail preview all --out preview",
		Args: func(_ *cobra.Command, args []string) error {
			if f.list && len(args) == 0 {
				return nil
			}
			return checkPreview(args, f)
		},
		RunE: func(c *cobra.Command, args []string) error {
			if f.list {
				for _, k := range vent.NoticeKinds() {
					fmt.Fprintf(a.Out, "%-16s %s\n", k, mailKinds[k])
				}
				return nil
			}
			if f.words {
				return a.printTemplate(vent.NoticeKind(args[0]), f.args.Lang)
			}
			return a.preview(c, args[0], f)
		}}
	c.Flags().BoolVar(&f.list, "list", false, "list the kinds of mail")
	c.Flags().BoolVar(&f.words, "template", false, "print the built-in words as a template to begin with")
	c.Flags().StringVar(&f.args.Lang, "lang", "", "language: "+strings.Join(wording.Languages(), " or ")+" (default: the reader's)")
	c.Flags().StringVar(&f.args.Customer, "customer", "", "with what stands of a customer: an id, a key or words of the name")
	c.Flags().StringVar(&f.out, "out", "", "write .eml and .html into this folder")
	c.Flags().BoolVar(&f.asJSON, "json", false, "write JSON")
	return c
}

func checkPreview(args []string, f previewFlags) error {
	if len(args) != 1 {
		return usage("which mail? give one kind, or all; --list names them")
	}
	if k := vent.NoticeKind(args[0]); args[0] != allKinds && !slices.Contains(vent.NoticeKinds(), k) {
		return usage("there is no mail of kind %q; --list names the kinds", args[0])
	}
	if f.args.Lang != "" && !slices.Contains(wording.Languages(), f.args.Lang) {
		return usage("there are no mails in %q: use %s", f.args.Lang, strings.Join(wording.Languages(), " or "))
	}
	return nil
}

func (a *app) printTemplate(kind vent.NoticeKind, lang string) error {
	if kind == allKinds {
		return usage("--template takes one kind; --list names the kinds")
	}
	text, err := notify.BuiltIn(kind, lang)
	if err == nil {
		_, err = fmt.Fprint(a.Out, text)
	}
	return err
}

func (a *app) preview(c *cobra.Command, kind string, f previewFlags) error {
	kinds := []vent.NoticeKind{vent.NoticeKind(kind)}
	if kind == allKinds {
		kinds = vent.NoticeKinds()
	}
	return a.with(c, func(ctx context.Context, o call.Office) error {
		for i, k := range kinds {
			in := f.args
			in.Kind = k
			got, err := call.Ask[previewAnswer](ctx, o, opMailPreview, in, nil)
			if err != nil {
				return err
			}
			if got.Invented && in.Customer != "" {
				fmt.Fprintf(a.Err, "ventdue: %s: the customer has no such thing now: what it tells of is invented\n", k)
			}
			if i > 0 && f.out == "" && !f.asJSON {
				fmt.Fprint(a.Out, "\n\n")
			}
			if err := a.showPreview(got, k, f); err != nil {
				return err
			}
		}
		return nil
	})
}

func (a *app) showPreview(got previewAnswer, k vent.NoticeKind, f previewFlags) error {
	if f.asJSON {
		return printJSON(a.Out, got)
	}
	if f.out == "" {
		var lines []string
		for line := range strings.SplitSeq(got.Text, "\n") {
			lines = append(lines, plain(line))
		}
		_, err := fmt.Fprintf(a.Out, "To: %s\nSubject: %s\n\n%s", plain(got.To), plain(got.Subject), strings.Join(lines, "\n"))
		return err
	}
	if err := os.MkdirAll(f.out, 0o755); err != nil {
		return err
	}
	name := filepath.Join(f.out, string(k)+"."+got.Language)
	if err := errors.Join(os.WriteFile(name+".eml", got.Raw, 0o644), os.WriteFile(name+".html", []byte(got.HTML), 0o644)); err != nil {
		return err
	}
	_, err := fmt.Fprintf(a.Out, "%s.eml and .html: %s\n", name, plain(got.Subject))
	return err
}

type previewArgs struct {
	Kind     vent.NoticeKind `json:"kind"`
	Lang     string          `json:"lang,omitempty"`
	Customer string          `json:"customer,omitempty"`
}

type previewAnswer struct {
	Kind vent.NoticeKind `json:"kind"`
	notify.Preview
}

func (h *house) askMailPreview(_ context.Context, r call.Request, a previewArgs) (out previewAnswer, err error) {
	out.Kind = a.Kind
	s, err := h.bareSender(*h.cfg.Load())
	if err != nil {
		return out, err
	}
	o, err := h.desk.Operator()
	if err != nil {
		return out, err
	}
	var own *desk.Example
	if a.Customer != "" {
		c, err := h.theOne(vent.KindCustomer, a.Customer)
		if err != nil {
			return out, err
		}
		x, err := h.desk.Example(by(r), c.Scope.ID)
		if err != nil {
			return out, err
		}
		own = &x
	}
	out.Preview, err = s.PreviewOf(a.Kind, a.Lang, o, own, r.Now)
	return out, err
}
