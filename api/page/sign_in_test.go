package page_test

import (
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// keysOf makes two organizations with a key each in a folder of data.
func keysOf(t *testing.T, data string) (mine, theirs string) {
	t.Helper()
	one := func(name string) string {
		organization := partwright(t, "organizations", "create", "--data-dir", data, name)
		return partwright(t, "keys", "create", "--data-dir", data, organization)
	}
	return one("Evening school"), one("Day school")
}

// partwright runs the program and returns what it prints.
func partwright(t *testing.T, args ...string) string {
	t.Helper()
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(path, args...)            // #nosec G204 -- the program under test
	cmd.Env = append(os.Environ(), "COLUMNS=400") // so that a row of a table is a line
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %v", args, err)
	}
	return strings.TrimSpace(string(out))
}

// TestSignInOnThePage signs a browser in, follows a batch to its end with nothing but the
// cookie, sees what belongs to the own school only, and signs out.
func TestSignInOnThePage(t *testing.T) {
	chromium(t)
	data := t.TempDir()
	mine, theirs := keysOf(t, data)
	address := serve(t, "--accounts", "--data-dir", data)
	b := browse(t, address+"/#batches", 1280, 900)
	b.until("who comes is asked for", `document.querySelector('.sign-in')`)
	b.picture("sign-in")
	b.axe("sign in")
	b.signIn("partwright_wrong")
	b.until("a wrong key is told", `document.querySelector('.sign-in .problem') && document.activeElement.id === 'key'`)
	b.picture("sign-in-wrong")
	b.axe("sign in, wrong")
	b.signIn(mine)
	b.until("what was asked for is there", `document.querySelector('.batches-list[aria-busy="false"] .drop') && document.body.innerText.includes('Evening school')`)
	b.axe("signed in")
	b.drop(archive(t))
	b.until("all is answered", `document.querySelector('.batch progress')?.value === 4 && document.body.innerText.includes('finished')`)
	b.picture("signed-in-batch")
	batch := value[string](b, `location.hash`)
	for _, file := range []string{"findings.csv", "marked.zip"} {
		if status := value[int](b, `fetch(document.querySelector('a[download="`+file+`"]').href).then((a) => a.status)`); status != 200 {
			t.Errorf("%s is answered %d", file, status)
		}
	}
	if value[string](b, `document.cookie`) != "" {
		t.Error("scripts can read the cookie")
	}
	b.do(chromedp.Navigate(address + "/"))
	b.until("the next load finds it signed in", `document.querySelector('.welcome')`)
	b.press("A hand-in")
	b.until("it is looked over", `document.querySelectorAll('.item.fault').length === 4`)
	cookie := b.cookie(address)
	if !cookie.HTTPOnly || cookie.SameSite != network.CookieSameSiteStrict || !cookie.Session {
		t.Errorf("the cookie is %+v", cookie)
	}

	b.press("Sign out")
	b.until("who comes is asked for again", `document.querySelector('.sign-in')`)
	if kept := value[int](b, `Object.keys(localStorage).length`); kept > 0 {
		t.Errorf("%d things are kept for whoever comes next", kept)
	}
	if status := value[int](b, `fetch('/v1/batches').then((a) => a.status)`); status != 401 {
		t.Errorf("signed out, batches are answered %d", status)
	}

	b.signIn(theirs)
	b.until("the other school is in", `document.querySelector('.welcome') && document.body.innerText.includes('Day school')`)
	b.do(chromedp.Navigate(address + "/#batches"))
	b.until("it has no batch", `document.querySelector('.batches-list[aria-busy="false"] .drop') && !document.querySelector('.kept')`)
	b.do(chromedp.Evaluate[chromedp.Void](`location.hash = '` + batch + `'`))
	b.until("another's batch is not there", `document.querySelector('.batch .problem')?.innerText.includes('no such batch')`)
	b.picture("signed-in-not-there")

	// A session that ends meanwhile is told, and gone on from.
	partwright(t, "keys", "revoke", "--data-dir", data, keyID(t, data))
	b.until("that the key was revoked is told", `(location.hash = '#batches?' + Math.random(), document.querySelector('.sign-in .problem'))`)
	b.picture("sign-in-ended")
}

// keyID finds the key of the day school.
func keyID(t *testing.T, data string) string {
	t.Helper()
	for _, line := range strings.Split(partwright(t, "organizations", "list", "--data-dir", data), "\n") {
		if !strings.Contains(line, "Day school") {
			continue
		}
		for _, row := range strings.Split(partwright(t, "keys", "list", "--data-dir", data, firstWord(line)), "\n") {
			if strings.Contains(row, "works") {
				return firstWord(row)
			}
		}
	}
	t.Fatal("there is no such key")
	return ""
}

// firstWord is that of a row of a table.
func firstWord(row string) string { return strings.Fields(strings.Trim(row, "│| "))[0] }

// TestLinkSignsInOnThePage follows a link once; it does not stay in the address.
func TestLinkSignsInOnThePage(t *testing.T) {
	chromium(t)
	data := t.TempDir()
	keysOf(t, data)
	address := serve(t, "--accounts", "--data-dir", data)
	link := partwright(t, "keys", "link", "--data-dir", data, "--url", address, keyID(t, data))
	b := browse(t, link, 390, 844)
	b.until("it is signed in", `document.querySelector('.welcome') && document.body.innerText.includes('Day school')`)
	b.picture("signed-in-390")
	if here := value[string](b, `location.href`); strings.Contains(here, "link") {
		t.Errorf("the address is still %s", here)
	}
	again := browse(t, link, 390, 844)
	again.until("a link that was used is told", `document.querySelector('.sign-in .problem')?.innerText.includes('signs in once')`)
	again.picture("sign-in-link-390")
}

// signIn types a key as a person does.
func (b *tab) signIn(key string) {
	b.t.Helper()
	b.until("the key can be typed", `document.activeElement.id === 'key' && !document.querySelector('.sign-in button').disabled`)
	b.do(chromedp.KeyEvent(key), chromedp.KeyEvent(kb.Enter))
}

// cookie is the one that the browser keeps of the service.
func (b *tab) cookie(address string) *network.Cookie {
	b.t.Helper()
	got, err := chromedp.Call(b.ctx, network.GetCookies, network.GetCookiesParams{URLs: []string{address}})
	if err != nil || len(got.Cookies) != 1 {
		b.t.Fatalf("%v, %v", got, err)
	}
	return got.Cookies[0]
}
