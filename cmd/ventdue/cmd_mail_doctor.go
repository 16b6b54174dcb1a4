package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/config"
	"ventdue/desk/wording"
	"ventdue/notify"
	"ventdue/notify/mail"
)

func (a *app) mailTestCmd() *cobra.Command {
	var look, asJSON bool
	c := &cobra.Command{Use: "test ADDRESS", Short: "Try the way of mail and say what is wrong with it", Args: exactly("ADDRESS"),
		Long: `Try the way of mail: reach the mail server, encrypt, check its certificate, sign in, offer sender and receiver, send a test mail to ADDRESS,
and look at the signature that mails get. Of each step it says how it stands, and of each fault what to do. What only the name
service and the receivers know (SPF, DMARC, reputation) it names, with what to look up by hand.

The exit code is 1 where mail cannot leave.`,
		RunE: func(c *cobra.Command, args []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[mailTestAnswer](ctx, o, opMailTest, mailTestArgs{args[0], !look}, nil)
				if err != nil {
					return err
				}
				if asJSON {
					if err := printJSON(a.Out, got); err != nil {
						return err
					}
				} else {
					a.printMailTest(got)
				}
				if got.End == mail.Wrong {
					return errors.New(got.Says)
				}
				return nil
			})
		}}
	c.Flags().BoolVar(&look, "look", false, "only look: send no mail")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) printMailTest(got mailTestAnswer) {
	marks := map[mail.Standing]string{mail.Good: "+", mail.Doubted: "?", mail.Wrong: "!", mail.Open: "-"}
	for _, l := range got.Lines {
		fmt.Fprintf(a.Out, "%s %s: %s\n", marks[l.Standing], plain(l.What), l.How)
		if l.Remedy != "" {
			fmt.Fprintf(a.Out, "    %s\n", plain(l.Remedy))
		}
		if l.Words != "" {
			fmt.Fprintf(a.Out, "    %s %s\n", got.Said, plain(l.Words))
		}
	}
	if got.End != mail.Wrong { // else it is the command's error
		fmt.Fprintf(a.Out, "\n%s\n", got.Says)
	}
}

type mailTestArgs struct {
	To   string `json:"to"`
	Send bool   `json:"send"`
}

type mailTestAnswer struct {
	Lines []mailTestLine `json:"steps"`
	End   mail.Standing  `json:"end"` // the worst standing of what was looked at
	Says  string         `json:"says"`
	Said  string         `json:"said"` // what goes before a server's words
}

// mailTestLine is one step in words.
type mailTestLine struct {
	Step     string            `json:"step"`
	Standing mail.Standing     `json:"standing"`
	Problem  string            `json:"problem,omitempty"`
	What     string            `json:"what"`
	How      string            `json:"how"`
	Remedy   string            `json:"remedy,omitempty"`
	Words    string            `json:"words,omitempty"` // the server's or the system's
	Facts    map[string]string `json:"facts,omitempty"`
}

func (h *house) askMailTest(ctx context.Context, r call.Request, a mailTestArgs) (mailTestAnswer, error) {
	cfg := *h.cfg.Load()
	w, err := h.words()
	if err != nil {
		return mailTestAnswer{}, err
	}
	d := notify.Doctor{Words: w, Now: r.Now}
	if d.Operator, err = h.desk.Operator(); err != nil {
		return mailTestAnswer{}, err
	}
	if d.Carrier, err = carrierOf(cfg); err != nil {
		return mailTestAnswer{}, err
	}
	if d.Sender, d.KeyFault, err = h.senderDespiteKey(cfg); err != nil {
		return mailTestAnswer{}, err
	}
	found, err := d.Examine(ctx, a.To, a.Send)
	if err != nil {
		return mailTestAnswer{}, err
	}
	return mailTestIn(w, found), nil
}

// senderDespiteKey gives the sender even where the key that signs cannot be read, and why it cannot.
func (h *house) senderDespiteKey(cfg config.Config) (s notify.Sender, fault, err error) {
	if cfg.Mail.DKIMKeyFile != "" {
		if _, fault = mail.LoadSigner(cfg.Mail.DKIMDomain, cfg.Mail.DKIMSelector, cfg.Mail.DKIMKeyFile); fault != nil {
			cfg.Mail.DKIMKeyFile = ""
		}
	}
	s, err = h.senderOf(cfg)
	return s, fault, err
}

// mailTestIn puts what was found into words.
func mailTestIn(w wording.Words, found []mail.Finding) (out mailTestAnswer) {
	rank := map[mail.Standing]int{mail.Good: 0, mail.Doubted: 1, mail.Wrong: 2}
	out.End = mail.Good
	for _, f := range found {
		var facts []string
		for k, v := range f.Facts {
			facts = append(facts, k, v)
		}
		l := mailTestLine{Step: f.Step, Standing: f.Standing, Problem: f.Problem, Words: f.Words, Facts: f.Facts, How: w.Say("doctor." + string(f.Standing))}
		what := "doctor.step." + f.Step
		if f.Standing == mail.Good && w.Has(what+".good") {
			what += ".good"
		}
		l.What = w.Say(what, facts...)
		switch {
		case f.Problem != "":
			l.Remedy = w.Say("doctor."+f.Step+"."+f.Problem, facts...)
		case f.Standing == mail.Open:
			l.Remedy = w.Say("doctor."+f.Step+".open", facts...)
		}
		if rank[f.Standing] > rank[out.End] {
			out.End = f.Standing
		}
		out.Lines = append(out.Lines, l)
	}
	out.Says, out.Said = w.Say("doctor.end."+string(out.End)), w.Say("doctor.said")
	return out
}
