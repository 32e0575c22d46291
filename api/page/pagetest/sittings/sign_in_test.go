package sittings_test

import (
	"partwright/api/page/pagetest"
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
		organization := pagetest.Partwright(t, "organizations", "create", "--data-dir", data, name)
		return pagetest.Partwright(t, "keys", "create", "--data-dir", data, organization)
	}
	return one("Evening school"), one("Day school")
}

// TestSignInOnThePage signs a browser in, follows a batch to its end with nothing but the
// cookie, sees what belongs to the own school only, and signs out.
func TestSignInOnThePage(t *testing.T) {
	pagetest.Chromium(t)
	data := t.TempDir()
	mine, theirs := keysOf(t, data)
	address := pagetest.Serve(t, "--accounts", "--data-dir", data)
	b := pagetest.Browse(t, address+"/#batches", 1280, 900)
	b.Until("who comes is asked for", `document.querySelector('.sign-in')`)
	b.Picture("sign-in")
	b.Axe("sign in")
	signIn(b, "partwright_wrong")
	b.Until("a wrong key is told", `document.querySelector('.sign-in .problem') && document.activeElement.id === 'key'`)
	b.Picture("sign-in-wrong")
	b.Axe("sign in, wrong")
	signIn(b, mine)
	b.Until("what was asked for is there", `document.querySelector('.batches-list[aria-busy="false"] .drop') && document.body.innerText.includes('Evening school')`)
	b.Axe("signed in")
	b.Drop(pagetest.Archive(t))
	b.Until("all is answered", `document.querySelector('.batch progress')?.value === 4 && document.body.innerText.includes('finished')`)
	b.Picture("signed-in-batch")
	batch := pagetest.Value[string](b, `location.hash`)
	for _, file := range []string{"findings.csv", "marked.zip"} {
		if status := pagetest.Value[int](b, `fetch(document.querySelector('a[download="`+file+`"]').href).then((a) => a.status)`); status != 200 {
			t.Errorf("%s is answered %d", file, status)
		}
	}
	if pagetest.Value[string](b, `document.cookie`) != "" {
		t.Error("scripts can read the cookie")
	}
	b.Do(chromedp.Navigate(address + "/"))
	b.Until("the next load finds it signed in", `document.querySelector('.welcome')`)
	b.Press("A hand-in")
	b.Until("it is looked over", `document.querySelectorAll('.item.fault').length === 4`)
	cookie := cookie(b, address)
	if !cookie.HTTPOnly || cookie.SameSite != network.CookieSameSiteStrict || !cookie.Session {
		t.Errorf("the cookie is %+v", cookie)
	}

	b.Press("Sign out")
	b.Until("who comes is asked for again", `document.querySelector('.sign-in')`)
	if kept := pagetest.Value[int](b, `Object.keys(localStorage).length`); kept > 0 {
		t.Errorf("%d things are kept for whoever comes next", kept)
	}
	if status := pagetest.Value[int](b, `fetch('/v1/batches').then((a) => a.status)`); status != 401 {
		t.Errorf("signed out, batches are answered %d", status)
	}

	signIn(b, theirs)
	b.Until("the other school is in", `document.querySelector('.welcome') && document.body.innerText.includes('Day school')`)
	b.Do(chromedp.Navigate(address + "/#batches"))
	b.Until("it has no batch", `document.querySelector('.batches-list[aria-busy="false"] .drop') && !document.querySelector('.kept')`)
	b.Do(chromedp.Evaluate[chromedp.Void](`location.hash = '` + batch + `'`))
	b.Until("another's batch is not there", `document.querySelector('.batch .problem')?.innerText.includes('no such batch')`)
	b.Picture("signed-in-not-there")

	// A session that ends meanwhile is told, and gone on from.
	pagetest.Partwright(t, "keys", "revoke", "--data-dir", data, keyID(t, data))
	b.Until("that the key was revoked is told", `(location.hash = '#batches?' + Math.random(), document.querySelector('.sign-in .problem'))`)
	b.Picture("sign-in-ended")
}

// keyID finds the key of the day school.
func keyID(t *testing.T, data string) string {
	t.Helper()
	for _, line := range strings.Split(pagetest.Partwright(t, "organizations", "list", "--data-dir", data), "\n") {
		if !strings.Contains(line, "Day school") {
			continue
		}
		for _, row := range strings.Split(pagetest.Partwright(t, "keys", "list", "--data-dir", data, firstWord(line)), "\n") {
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
	pagetest.Chromium(t)
	data := t.TempDir()
	keysOf(t, data)
	address := pagetest.Serve(t, "--accounts", "--data-dir", data)
	link := pagetest.Partwright(t, "keys", "link", "--data-dir", data, "--url", address, keyID(t, data))
	b := pagetest.Browse(t, link, 390, 844)
	b.Until("it is signed in", `document.querySelector('.welcome') && document.body.innerText.includes('Day school')`)
	b.Picture("signed-in-390")
	if here := pagetest.Value[string](b, `location.href`); strings.Contains(here, "link") {
		t.Errorf("the address is still %s", here)
	}
	again := pagetest.Browse(t, link, 390, 844)
	again.Until("a link that was used is told", `document.querySelector('.sign-in .problem')?.innerText.includes('signs in once')`)
	again.Picture("sign-in-link-390")
}

// signIn types a key as a person does.
func signIn(b *pagetest.Tab, key string) {
	b.T.Helper()
	b.Until("the key can be typed", `document.activeElement.id === 'key' && !document.querySelector('.sign-in button').disabled`)
	b.Do(chromedp.KeyEvent(key), chromedp.KeyEvent(kb.Enter))
}

// cookie is the one that the browser keeps of the service.
func cookie(b *pagetest.Tab, address string) *network.Cookie {
	b.T.Helper()
	got, err := chromedp.Call(b.Ctx, network.GetCookies, network.GetCookiesParams{URLs: []string{address}})
	if err != nil || len(got.Cookies) != 1 {
		b.T.Fatalf("%v, %v", got, err)
	}
	return got.Cookies[0]
}
