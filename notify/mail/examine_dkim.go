package mail

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rsa"
	"crypto/x509"
	"encoding/base64"
	"slices"
	"strconv"
	"strings"

	"github.com/emersion/go-msgauth/dkim"
)

// Record gives the name and the text of the TXT record by which others check the signatures (RFC 6376 section 3.6.1, RFC 8463
// section 4).
func (s *Signer) Record() (name, text string) {
	name = s.selector + "._domainkey." + s.domain
	switch key := s.key.Public().(type) {
	case ed25519.PublicKey:
		text = "v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(key)
	case *rsa.PublicKey:
		if der, err := x509.MarshalPKIXPublicKey(key); err == nil {
			text = "v=DKIM1; k=rsa; p=" + base64.StdEncoding.EncodeToString(der)
		}
	}
	return name, text
}

// Algorithm names the signatures' algorithm and key, as "rsa-sha256, 2048 bits".
func (s *Signer) Algorithm() (name string, bits int) {
	if key, ok := s.key.(*rsa.PrivateKey); ok {
		return "rsa-sha256, " + strconv.Itoa(key.N.BitLen()) + " bits", key.N.BitLen()
	}
	return "ed25519-sha256", 256
}

// ExamineSignature checks a signed message against the signer's own record, as a receiver would once that is published, and
// whether the signature's domain is the sender's (what RFC 7489 section 3.1.1 asks) and covers the fields of the one click.
func ExamineSignature(s *Signer, raw []byte, from string) Finding {
	name, text := s.Record()
	algorithm, bits := s.Algorithm()
	f := Finding{Step: "dkim", Standing: Good, Facts: map[string]string{"domain": s.domain, "selector": s.selector, "algorithm": algorithm, "name": name, "record": text}}
	got, err := dkim.VerifyWithOptions(bytes.NewReader(raw), &dkim.VerifyOptions{LookupTXT: func(string) ([]string, error) { return []string{text}, nil }})
	switch {
	case err != nil:
		f.Standing, f.Problem, f.Words = Wrong, "verify", oneLine(err.Error())
		return f
	case len(got) != 1 || got[0].Err != nil:
		f.Standing, f.Problem = Wrong, "verify"
		if len(got) == 1 {
			f.Words = oneLine(got[0].Err.Error())
		}
		return f
	}
	f.Facts["fields"] = strings.Join(slices.Compact(slices.Clone(got[0].HeaderKeys)), ", ")
	has := func(field string) bool {
		return slices.ContainsFunc(got[0].HeaderKeys, func(k string) bool { return strings.EqualFold(k, field) })
	}
	switch {
	case !has("List-Unsubscribe") || !has("List-Unsubscribe-Post"):
		f.Standing, f.Problem = Wrong, "fields"
	case !Aligned(from, s.domain):
		f.Facts["from"] = from
		f.Standing, f.Problem = Doubted, "domain"
	case bits < 1024*2 && strings.HasPrefix(algorithm, "rsa"):
		f.Standing, f.Problem = Doubted, "short"
	}
	return f
}

// Aligned reports whether an address's domain and another are the same or one lies inside the other. Whether a receiver
// counts them as one (RFC 7489 section 3.1) depends on where names are sold, which cannot be known here.
func Aligned(address, domain string) bool {
	_, own := splitAddress(strings.ToLower(address))
	domain = strings.ToLower(domain)
	return own == domain || strings.HasSuffix(own, "."+domain) || strings.HasSuffix(domain, "."+own)
}
