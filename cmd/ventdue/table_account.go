package main

import (
	"context"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/vent"
)

// The operations on accounts and tokens.
const (
	opAccounts        = "accounts"
	opAccountAdd      = "account.add"
	opAccountPassword = "account.password"
	opAccountRemove   = "account.remove"
	opTokens          = "tokens"
	opTokenMake       = "token.make"
	opTokenRevoke     = "token.revoke"
)

func (h *house) accountTable() call.Table {
	return call.Table{
		opAccounts:        call.Answer(h.askAccounts),
		opAccountAdd:      call.Answer(h.askAccountAdd),
		opAccountPassword: call.Answer(h.askAccountPassword),
		opAccountRemove:   call.Answer(h.askAccountRemove),
		opTokens:          call.Answer(h.askTokens),
		opTokenMake:       call.Answer(h.askTokenMake),
		opTokenRevoke:     call.Answer(h.askTokenRevoke),
	}
}

// accountLine is an account as commands show it: without its password's hash.
type accountLine struct {
	ID       vent.ID      `json:"id"`
	Name     string       `json:"name"`
	Role     vent.Role    `json:"role"`
	Language string       `json:"language,omitempty"`
	Person   vent.ID      `json:"person_id,omitzero"`
	Created  vent.Instant `json:"created"`
	Seen     vent.Instant `json:"last_seen,omitzero"`
}

func accountLineOf(a vent.Account) accountLine {
	return accountLine{a.ID, a.Name, a.Role, a.Language, a.PersonID, a.Created, a.Seen}
}

func (h *house) askAccounts(context.Context, call.Request, noArgs) ([]accountLine, error) {
	all, err := h.desk.Accounts()
	lines := []accountLine{}
	for _, a := range all {
		lines = append(lines, accountLineOf(a))
	}
	return lines, err
}

type accountArgs struct {
	Name     string    `json:"name"`
	Role     vent.Role `json:"role,omitempty"`
	Language string    `json:"language,omitempty"`
	Person   string    `json:"person,omitempty"`
	Password string    `json:"password,omitempty"`
}

func (h *house) askAccountAdd(_ context.Context, r call.Request, a accountArgs) (accountLine, error) {
	made, err := h.desk.AddAccount(by(r), desk.Access{Name: a.Name, Role: a.Role, Language: a.Language, Person: a.Person}, a.Password)
	return accountLineOf(made), err
}

func (h *house) askAccountPassword(_ context.Context, r call.Request, a accountArgs) (accountLine, error) {
	x, err := h.desk.AccountNamed(a.Name)
	if err != nil {
		return accountLine{}, err
	}
	x, err = h.desk.SetPassword(by(r), x.ID, a.Password)
	return accountLineOf(x), err
}

func (h *house) askAccountRemove(_ context.Context, r call.Request, a accountArgs) (accountLine, error) {
	x, err := h.desk.AccountNamed(a.Name)
	if err != nil {
		return accountLine{}, err
	}
	return accountLineOf(x), h.desk.RemoveAccount(by(r), x.ID)
}

// tokenLine is a token as commands show it.
type tokenLine struct {
	ID      vent.ID         `json:"id"`
	Name    string          `json:"name"`
	Scope   vent.TokenScope `json:"scope"`
	Created vent.Instant    `json:"created"`
	Used    vent.Instant    `json:"last_used,omitzero"`
	Revoked vent.Instant    `json:"revoked,omitzero"`
	// Secret is shown once, when the token was made.
	Secret string `json:"secret,omitempty"`
}

func tokenLineOf(t vent.Token, secret string) tokenLine {
	return tokenLine{t.ID, t.Name, t.Scope, t.Created, t.Used, t.Revoked, secret}
}

func (h *house) askTokens(context.Context, call.Request, noArgs) ([]tokenLine, error) {
	all, err := h.desk.Tokens()
	lines := []tokenLine{}
	for _, t := range all {
		lines = append(lines, tokenLineOf(t, ""))
	}
	return lines, err
}

type tokenArgs struct {
	ID    vent.ID         `json:"id,omitzero"`
	Name  string          `json:"name,omitempty"`
	Scope vent.TokenScope `json:"scope,omitempty"`
}

func (h *house) askTokenMake(_ context.Context, r call.Request, a tokenArgs) (tokenLine, error) {
	made, err := h.desk.MakeToken(by(r), a.Name, a.Scope)
	return tokenLineOf(made.Token, made.Secret), err
}

func (h *house) askTokenRevoke(_ context.Context, r call.Request, a tokenArgs) (noArgs, error) {
	return noArgs{}, h.desk.RevokeToken(by(r), a.ID)
}
