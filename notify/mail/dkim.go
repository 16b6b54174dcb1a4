package mail

import (
	"bytes"
	"crypto"
	"crypto/ed25519"
	"crypto/rsa"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"os"
	"regexp"
	"strings"

	"github.com/emersion/go-msgauth/dkim"
)

// signedHeaders are covered by the signature whether present or not: an absent one cannot be added later
// without breaking it. From is listed twice so that a second one breaks it too (RFC 6376 8.15). RFC 8058 4
// wants both unsubscribe fields covered.
var signedHeaders = []string{
	"From", "From", "To", "Reply-To", "Subject", "Date", "Message-ID", "In-Reply-To", "References",
	"List-Unsubscribe", "List-Unsubscribe-Post", "Auto-Submitted", "Content-Language",
	"MIME-Version", "Content-Type",
}

// Signer puts a DKIM signature (RFC 6376) on composed messages. It is safe for concurrent use.
type Signer struct {
	domain, selector string
	key              crypto.Signer
}

var dnsNameForm = regexp.MustCompile(`^[A-Za-z0-9_]([A-Za-z0-9_-]*[A-Za-z0-9])?(\.[A-Za-z0-9_]([A-Za-z0-9_-]*[A-Za-z0-9])?)*$`)

// NewSigner makes a signer for the domain, whose public key is published as a TXT record at
// selector._domainkey.domain. The key is RSA of at least 1024 bits (RFC 8301 3.2; 2048 is advised) or
// Ed25519 (RFC 8463).
func NewSigner(domain, selector string, key crypto.Signer) (*Signer, error) {
	if !dnsNameForm.MatchString(domain) || !dnsNameForm.MatchString(selector) {
		return nil, fmt.Errorf("dkim: domain %.80q or selector %.80q is not a DNS name", domain, selector)
	}
	switch k := key.(type) {
	case *rsa.PrivateKey:
		if k.N.BitLen() < 1024 {
			return nil, fmt.Errorf("dkim: RSA key of %d bits is too short: make one of 2048", k.N.BitLen())
		}
	case ed25519.PrivateKey:
	default:
		return nil, fmt.Errorf("dkim: key of type %T cannot sign mail: use RSA or Ed25519", key)
	}
	return &Signer{domain: domain, selector: selector, key: key}, nil
}

// LoadSigner is [NewSigner] with the key from a PEM file (PKCS #8, or PKCS #1 for RSA), not encrypted.
func LoadSigner(domain, selector, keyFile string) (*Signer, error) {
	data, err := os.ReadFile(keyFile)
	if err != nil {
		return nil, fmt.Errorf("dkim: read key: %w", err)
	}
	block, _ := pem.Decode(data)
	if block == nil {
		return nil, fmt.Errorf("dkim: %s holds no PEM block: it must be a private key as written by openssl genpkey", keyFile)
	}
	key, err := parseKey(block)
	if err != nil {
		return nil, fmt.Errorf("dkim: %s (%s): %w", keyFile, block.Type, err)
	}
	return NewSigner(domain, selector, key)
}

func parseKey(block *pem.Block) (crypto.Signer, error) {
	if block.Type == "RSA PRIVATE KEY" {
		return x509.ParsePKCS1PrivateKey(block.Bytes)
	}
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, fmt.Errorf("not an unencrypted private key: %w", err)
	}
	signer, ok := key.(crypto.Signer)
	if !ok {
		return nil, fmt.Errorf("key of type %T cannot sign", key)
	}
	return signer, nil
}

// Domain returns the signing domain (d=).
func (s *Signer) Domain() string { return s.domain }

// Sign returns the message with a DKIM-Signature field in front. The signature carries the time of signing
// (t=), so two runs differ: sign once, then keep the bytes.
func (s *Signer) Sign(raw []byte) ([]byte, error) {
	var out bytes.Buffer
	err := dkim.Sign(&out, bytes.NewReader(raw), &dkim.SignOptions{
		Domain:                 strings.ToLower(s.domain),
		Selector:               s.selector,
		Signer:                 s.key,
		HeaderCanonicalization: dkim.CanonicalizationRelaxed,
		BodyCanonicalization:   dkim.CanonicalizationRelaxed,
		HeaderKeys:             signedHeaders,
	})
	if err != nil {
		return nil, fmt.Errorf("dkim: sign for %s: %w", s.domain, err)
	}
	return out.Bytes(), nil
}
