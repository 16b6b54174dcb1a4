package mail

import (
	"bytes"
	"crypto"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/emersion/go-msgauth/dkim"
)

// keyFile writes a private key as PKCS #8 PEM.
func keyFile(t *testing.T, key any) string {
	t.Helper()
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "dkim.pem")
	if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// record is the TXT record of a public key (RFC 6376 3.6.1, RFC 8463 4).
func record(t *testing.T, pub crypto.PublicKey) string {
	t.Helper()
	if k, ok := pub.(ed25519.PublicKey); ok {
		return "v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(k)
	}
	der, err := x509.MarshalPKIXPublicKey(pub)
	if err != nil {
		t.Fatal(err)
	}
	return "v=DKIM1; k=rsa; p=" + base64.StdEncoding.EncodeToString(der)
}

// verify checks a message's one signature against the record published at ventdue2026._domainkey.example.com.
func verify(t *testing.T, raw []byte, txt string) (*dkim.Verification, error) {
	t.Helper()
	list, err := dkim.VerifyWithOptions(bytes.NewReader(raw), &dkim.VerifyOptions{LookupTXT: func(name string) ([]string, error) {
		if name != "ventdue2026._domainkey.example.com" {
			t.Errorf("key was looked up at %s", name)
		}
		return []string{txt}, nil
	}})
	if err != nil || len(list) != 1 {
		t.Fatalf("%d signatures, %v", len(list), err)
	}
	return list[0], list[0].Err
}

func TestSignVerifies(t *testing.T) {
	rsaKey, err := rsa.GenerateKey(rand.Reader, 2048)
	if err != nil {
		t.Fatal(err)
	}
	_, edKey, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	for name, key := range map[string]crypto.Signer{"rsa": rsaKey, "ed25519": edKey} {
		t.Run(name, func(t *testing.T) {
			signer, err := LoadSigner("example.com", "ventdue2026", keyFile(t, key))
			if err != nil {
				t.Fatal(err)
			}
			txt := record(t, key.Public())
			bare := mustCompose(t, reminder())
			raw, err := signer.Sign(bare)
			if err != nil {
				t.Fatal(err)
			}
			checkWire(t, raw)
			if !bytes.HasSuffix(raw, bare) {
				t.Error("signing changed the message")
			}
			v, err := verify(t, raw, txt)
			if err != nil {
				t.Fatalf("signature does not verify: %v\n%s", err, raw)
			}
			covered := strings.ToLower(strings.Join(v.HeaderKeys, " ")) + " "
			for _, want := range []string{"From", "To", "Subject", "Date", "Message-ID", "List-Unsubscribe", "List-Unsubscribe-Post",
				"Auto-Submitted", "MIME-Version", "Content-Type"} {
				if !strings.Contains(covered, strings.ToLower(want)+" ") {
					t.Errorf("%s is not signed", want)
				}
			}
			for what, spoilt := range map[string][]byte{
				"body":          bytes.Replace(raw, []byte("14 April"), []byte("15 April"), -1),
				"second From":   append([]byte("From: evil@example.net\r\n"), raw...),
				"link":          bytes.Replace(raw, []byte("/u/0198c0de"), []byte("/u/evil"), 1),
				"one-click off": bytes.Replace(raw, []byte("List-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n"), nil, 1),
			} {
				if _, err := verify(t, spoilt, txt); err == nil {
					t.Errorf("%s was changed and the signature still verifies", what)
				}
			}
		})
	}
}

func TestLoadSignerRefuses(t *testing.T) {
	_, edKey, _ := ed25519.GenerateKey(rand.Reader)
	good := keyFile(t, edKey)
	junk := filepath.Join(t.TempDir(), "junk")
	if err := os.WriteFile(junk, []byte("no key"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct{ domain, selector, file, want string }{
		{"example.com", "s", junk, "PEM"},
		{"example.com", "s", junk + "-missing", "no such file"},
		{"", "s", good, "DNS name"},
		{"example.com; x=y", "s", good, "DNS name"},
	} {
		if _, err := LoadSigner(tc.domain, tc.selector, tc.file); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%+v: %v", tc, err)
		}
	}
}
