package api

import (
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"
)

// pageRoutes serves the page, which is open to everybody: it holds nothing of anyone.
// They stand in no contract, so they come after those that do.
func (h *handlers) pageRoutes(router *gin.Engine) {
	for _, method := range []string{http.MethodGet, http.MethodHead} {
		router.Handle(method, "/", func(c *gin.Context) { h.sendPage(c, "") })
		router.Handle(method, "/page/*file", func(c *gin.Context) { h.sendPage(c, strings.TrimPrefix(c.Param("file"), "/")) })
	}
}

// sendPage answers with one file of the page. Its headers take the place of those for
// answers about scores, which nobody may keep.
func (h *handlers) sendPage(c *gin.Context, name string) {
	file, ok := h.page.Find(name)
	if !ok {
		fail(c, refuse(notFound))
		return
	}
	header := c.Writer.Header()
	header.Set("Content-Security-Policy", file.Policy)
	if name == "" {
		header.Set("Content-Security-Policy", h.framedBy(c, file.Policy))
	}
	header.Set("ETag", file.ETag)
	header.Set("Vary", "Accept-Encoding")
	header.Set("Cache-Control", "no-cache")
	if file.Versioned {
		header.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	if strings.ReplaceAll(c.GetHeader("If-None-Match"), compressedTag, "") == file.ETag {
		c.Status(http.StatusNotModified)
		c.Writer.WriteHeaderNow()
		return
	}
	accepted := c.GetHeader("Accept-Encoding")
	body, encoding, err := file.Body(func(encoding string) bool { return takesEncoding(accepted, encoding) })
	if err != nil {
		fail(c, err)
		return
	}
	header.Set("Content-Type", file.Type)
	if encoding != "" {
		header.Set("Content-Encoding", encoding)
	}
	h.write(c, http.StatusOK, body)
}

// framedBy lets the learning systems that are registered show the page in a frame. The
// cookie of a browser that is signed in does not come along into a frame of another site;
// who is in one has come by a launch.
func (h *handlers) framedBy(c *gin.Context, policy string) string {
	if h.config.LTI == nil || h.config.Gradebook == nil {
		return policy
	}
	origins, err := h.config.Gradebook.Origins(c.Request.Context())
	if err != nil || len(origins) == 0 {
		return policy // nobody may frame it then
	}
	return strings.Replace(policy, "frame-ancestors 'none'", "frame-ancestors "+strings.Join(origins, " "), 1)
}

// takesEncoding reads an Accept-Encoding header (RFC 9110, 12.5.3) as far as files need
// it: an encoding that is named, and not with the quality 0.
func takesEncoding(header, encoding string) bool {
	for member := range strings.SplitSeq(header, ",") {
		name, quality, _ := strings.Cut(member, ";")
		if strings.EqualFold(strings.TrimSpace(name), encoding) {
			quality = strings.ReplaceAll(quality, " ", "")
			return strings.Trim(quality, "q=0.") != "" || quality == ""
		}
	}
	return false
}
