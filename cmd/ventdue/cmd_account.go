package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"ventdue/cmd/ventdue/call"
	"ventdue/vent"
)

func (a *app) accountCmd() *cobra.Command {
	c := &cobra.Command{Use: "account", Short: "Say who signs in to the pages", Args: exactly(),
		Long: `Make, list and remove accounts. An owner may do everything; the office everything of the day; a technician sees the
runs of their own visits and writes down what they find. Customers and occupants never need an account.

The password is asked for on a terminal; otherwise the first line of standard input is taken.`,
		Example: "  ventdue account add \"Ida Lund\" --role owner\n  ventdue account add Per --role technician --person per@example.com\n  ventdue account password Per < password.txt",
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() }}
	c.AddCommand(a.accountAddCmd(), a.accountListCmd(),
		a.accountChangeCmd("password", "Give an account a new password and sign it out everywhere", opAccountPassword, "The password of %s is set. They are signed out everywhere.\n"),
		a.accountChangeCmd("remove", "Remove an account; the last owner's stays", opAccountRemove, "%s cannot sign in any more.\n"))
	return c
}

func (a *app) accountAddCmd() *cobra.Command {
	var args accountArgs
	var asJSON bool
	c := &cobra.Command{Use: "add NAME", Short: "Make an account", Args: exactly("NAME"),
		RunE: func(c *cobra.Command, names []string) error {
			switch args.Role {
			case vent.Owner, vent.Office, vent.Technician:
			default:
				return usage("--role %q: use owner, office or technician", args.Role)
			}
			args.Name = names[0]
			return a.withPassword(c, &args, opAccountAdd, func(got accountLine) error {
				if asJSON {
					return printJSON(a.Out, got)
				}
				_, err := fmt.Fprintf(a.Out, "%s signs in as %s. From the first account on, everybody has to sign in.\n", plain(got.Name), got.Role)
				return err
			})
		}}
	c.Flags().StringVar((*string)(&args.Role), "role", "", "owner, office or technician")
	c.Flags().StringVar(&args.Person, "person", "", "whose visits a technician works on: e-mail address, key or id (default: the technician of this name, made if there is none)")
	c.Flags().StringVar(&args.Language, "language", "", "language of the pages (default: the installation's)")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) accountChangeCmd(name, short, op, done string) *cobra.Command {
	return &cobra.Command{Use: name + " NAME", Short: short, Args: exactly("NAME"),
		RunE: func(c *cobra.Command, names []string) error {
			args := accountArgs{Name: names[0]}
			say := func(got accountLine) error {
				_, err := fmt.Fprintf(a.Out, done, plain(got.Name))
				return err
			}
			if op == opAccountPassword {
				return a.withPassword(c, &args, op, say)
			}
			return a.ask(c, op, args, say)
		}}
}

// ask has the office do something with an account and tells what came of it.
func (a *app) ask(c *cobra.Command, op string, args accountArgs, say func(accountLine) error) error {
	return a.with(c, func(ctx context.Context, o call.Office) error {
		got, err := call.Ask[accountLine](ctx, o, op, args, nil)
		if err != nil {
			return err
		}
		return say(got)
	})
}

func (a *app) withPassword(c *cobra.Command, args *accountArgs, op string, say func(accountLine) error) (err error) {
	if args.Password, err = a.readPassword(); err != nil {
		return err
	}
	return a.ask(c, op, *args, say)
}

// readPassword asks twice on a terminal, without showing what is typed; elsewhere it reads one line.
func (a *app) readPassword() (string, error) {
	f, ok := a.In.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		line, err := bufio.NewReader(io.LimitReader(a.In, 1000)).ReadString('\n')
		if err != nil && (!errors.Is(err, io.EOF) || line == "") {
			return "", fmt.Errorf("read the password from standard input: %w", err)
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	var typed [2]string
	for i, ask := range []string{"Password: ", "Once more: "} {
		fmt.Fprint(a.Err, ask)
		b, err := term.ReadPassword(int(f.Fd()))
		fmt.Fprintln(a.Err)
		if err != nil {
			return "", fmt.Errorf("read the password: %w", err)
		}
		typed[i] = string(b)
	}
	if typed[0] != typed[1] {
		return "", errors.New("the two passwords differ: nothing was changed")
	}
	return typed[0], nil
}

func (a *app) accountListCmd() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{Use: "list", Short: "List accounts and when they were last seen", Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[[]accountLine](ctx, o, opAccounts, noArgs{}, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				t := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
				fmt.Fprintln(t, "NAME\tROLE\tLANGUAGE\tLAST SEEN")
				for _, x := range got {
					fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", plain(x.Name), x.Role, x.Language, x.Seen)
				}
				return t.Flush()
			})
		}}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) tokenCmd() *cobra.Command {
	c := &cobra.Command{Use: "token", Short: "Make, list and revoke tokens for programs", Args: exactly(),
		Long: `A token lets a program use the JSON API: it sends "Authorization: Bearer TOKEN". It is shown once, when it is made, and
may do what its scope says: read (look), record (and write down findings), all (what the office may do).`,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() }}
	c.AddCommand(a.tokenMakeCmd(), a.tokenListCmd(), &cobra.Command{Use: "revoke ID", Short: "Shut a program out at once", Args: exactly("ID"),
		RunE: func(c *cobra.Command, args []string) error {
			id, err := vent.ParseID(args[0])
			if err != nil {
				return usageError{err}
			}
			return a.with(c, func(ctx context.Context, o call.Office) error {
				_, err := call.Ask[noArgs](ctx, o, opTokenRevoke, tokenArgs{ID: id}, nil)
				if err == nil {
					_, err = fmt.Fprintln(a.Out, "Revoked. The program is shut out.")
				}
				return err
			})
		}})
	return c
}

func (a *app) tokenMakeCmd() *cobra.Command {
	var args tokenArgs
	var asJSON bool
	c := &cobra.Command{Use: "make NAME", Short: "Make a token for a program", Args: exactly("NAME"),
		Example: "  ventdue token make \"till\" --scope record",
		RunE: func(c *cobra.Command, names []string) error {
			if args.Scope.Holds(vent.TokenRead) {
				args.Name = names[0]
				return a.with(c, func(ctx context.Context, o call.Office) error {
					got, err := call.Ask[tokenLine](ctx, o, opTokenMake, args, nil)
					if err != nil {
						return err
					}
					if asJSON {
						return printJSON(a.Out, got)
					}
					_, err = fmt.Fprintf(a.Out, "%s\n\nThis token is secret and shown only now. Revoke it with: ventdue token revoke %s\n", got.Secret, got.ID)
					return err
				})
			}
			return usage("--scope %q: use read, record or all", args.Scope)
		}}
	c.Flags().StringVar((*string)(&args.Scope), "scope", string(vent.TokenRead), "read, record or all")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func (a *app) tokenListCmd() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{Use: "list", Short: "List tokens and when they were last used", Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			return a.with(c, func(ctx context.Context, o call.Office) error {
				got, err := call.Ask[[]tokenLine](ctx, o, opTokens, noArgs{}, nil)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(a.Out, got)
				}
				t := tabwriter.NewWriter(a.Out, 0, 0, 2, ' ', 0)
				fmt.Fprintln(t, "ID\tNAME\tMAY\tMADE\tLAST USED\tREVOKED")
				for _, x := range got {
					fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", x.ID, plain(x.Name), x.Scope, x.Created, x.Used, x.Revoked)
				}
				return t.Flush()
			})
		}}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}
