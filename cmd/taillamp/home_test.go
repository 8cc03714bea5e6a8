package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"io"
	"math/big"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"
)

// certificate is one for this machine, in two files as an authority gives it, and a client that trusts it.
func certificate(t *testing.T) (cert, key string, trusts *tls.Config) {
	t.Helper()
	secret, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	c := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "the shed"}, NotBefore: time.Now().Add(-time.Hour),
		NotAfter: time.Now().Add(time.Hour), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true}
	der, err := x509.CreateCertificate(rand.Reader, c, c, &secret.PublicKey, secret)
	require.NoError(t, err)
	pkcs, err := x509.MarshalPKCS8PrivateKey(secret)
	require.NoError(t, err)
	cert, key = filepath.Join(t.TempDir(), "cert.pem"), filepath.Join(t.TempDir(), "key.pem")
	require.NoError(t, os.WriteFile(cert, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600))
	require.NoError(t, os.WriteFile(key, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: pkcs}), 0o600))
	pool := x509.NewCertPool()
	c, err = x509.ParseCertificate(der)
	require.NoError(t, err)
	pool.AddCert(c)
	return cert, key, &tls.Config{RootCAs: pool}
}

// L1, L2: with a certificate everything goes by TLS, and a box is opened by its own key alone, which stands in a file
// that only its owner reads and in no line that the program says.
func TestServeFromHome(t *testing.T) {
	cert, key, trusts := certificate(t)
	keys := filepath.Join(t.TempDir(), "keys.txt")
	s := start(t, "--dir", t.TempDir(), "--layout", "tiny", "--cert", cert, "--key", key, "--box-keys", keys)
	defer s.end()
	at := s.find(`open +(https://127\.0\.0\.1:\d+/) `)
	info, err := os.Stat(keys)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	text, err := os.ReadFile(keys)
	require.NoError(t, err)
	of := make(map[string]string)
	for _, m := range regexp.MustCompile(`(?m)^([A-Z]+) +([A-Z0-9-]{23})$`).FindAllStringSubmatch(string(text), -1) {
		of[m[1]] = m[2]
		require.NotContains(t, strings.Join(s.lines, "\n"), m[2])
	}
	require.Len(t, of, 2)

	client := &http.Client{Transport: &http.Transport{TLSClientConfig: trusts}}
	took := func(box, key string) (int, *http.Response) {
		r, err := client.PostForm(at+"s/"+s.find(`sitting (tiny-\S+)`)+"/duty/"+box, url.Values{"key": {key}})
		require.NoError(t, err)
		_, err = io.Copy(io.Discard, r.Body)
		require.NoError(t, err)
		require.NoError(t, r.Body.Close())
		return r.StatusCode, r
	}
	status, _ := took("OS", "")
	require.Equal(t, http.StatusUnauthorized, status)
	status, _ = took("OS", of["UL"])
	require.Equal(t, http.StatusForbidden, status, "the key of another box")
	status, r := took("OS", strings.ToLower(of["OS"]))
	require.Equal(t, http.StatusOK, status)
	require.True(t, r.Cookies()[0].Secure)

	dialer := &websocket.Dialer{TLSClientConfig: trusts}
	conn, answer, err := dialer.Dial(strings.Replace(at, "https", "wss", 1)+"s/"+s.find(`sitting (tiny-\S+)`)+"/wire", nil)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	require.NoError(t, conn.Close())
	_, err = http.Get(strings.Replace(at, "https", "http", 1))
	require.NoError(t, err, "who forgets the s is answered")
	for _, k := range of {
		require.NotContains(t, s.said.String(), k)
	}
}

// L2: keys that would keep nobody out are refused with the line.
func TestKeysOfBoxes(t *testing.T) {
	d, err := findDistrict("tiny")
	require.NoError(t, err)
	l := d.rules.Layout()
	for _, c := range []struct{ text, says string }{
		{"# none\n\n", ""},
		{"OS K3XT-7RMP-4QFD # J. Smith\nul abcd efgh ijkl", ""},
		{"OS K3XT", "keys.txt:1: the key of OS is too short"},
		{"\nXX K3XT-7RMP-4QFD", "keys.txt:2: "},
		{"OS K3XT-7RMP-4QFD\nOS K3XT-7RMP-4QFE", "keys.txt:2: a second key of OS"},
	} {
		_, err := parseKeys("keys.txt", []byte(c.text), l)
		if c.says == "" {
			require.NoError(t, err)
		} else {
			require.ErrorContains(t, err, c.says)
		}
	}
}
