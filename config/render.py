"""The ways a view answers: a page, a part of one, a PDF, a file, or another address."""

from functools import cache

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render, resolve_url
from django.template.loader import render_to_string

from config import exports, uploads
from config.exports import Sheet

PAPER_STYLES = ("css/tokens.css", "css/paper.css", "css/cage_card.css")


class PaperNotPrinted(Exception):
    """The paper could not be drawn as it should be, so it was not made at all."""


def page(request: HttpRequest, template: str, *, status: int = 200, **facts: object) -> HttpResponse:
    return render(request, template, facts, status=status)


def part(request: HttpRequest, template: str, *, status: int = 200, **facts: object) -> HttpResponse:
    response = render(request, template, facts, status=status)
    response["Vary"] = "HX-Request"
    return response


def nothing() -> HttpResponse:
    return HttpResponse(status=204)


def script(request: HttpRequest, template: str, **facts: object) -> HttpResponse:
    return render(request, template, facts, content_type="text/javascript; charset=utf-8")


def redirect(request: HttpRequest, to: str, *args: object, **kwargs: object) -> HttpResponse:
    address = resolve_url(to, *args, **kwargs)
    if getattr(request, "htmx", False):
        return HttpResponse(status=204, headers={"HX-Redirect": address})
    return HttpResponseRedirect(address, status=303)


def file(content: bytes, *, filename: str, content_type: str, inline: bool = False) -> HttpResponse:
    where = "inline" if inline else "attachment"
    return HttpResponse(
        content,
        content_type=content_type,
        headers={
            "Content-Disposition": f'{where}; filename="{filename}"',
            "X-Content-Type-Options": "nosniff",
        },
    )


def tables(*sheets: Sheet, filename: str, kind: str) -> HttpResponse:
    """Answer tables as a file of a kind ("csv" or "xlsx"); `filename` is without its end."""
    if kind == "xlsx":
        content, content_type = exports.workbook(*sheets), uploads.XLSX
    else:
        content, content_type = exports.csv(*sheets), f"{uploads.CSV}; charset=utf-8"
    return file(content, filename=f"{filename}.{kind}", content_type=content_type)


def pdf(template: str, *, filename: str, **facts: object) -> HttpResponse:
    return file(pdf_bytes(template, **facts), filename=filename, content_type="application/pdf", inline=True)


def pdf_bytes(template: str, **facts: object) -> bytes:
    """Draw a paper as PDF/UA. The same facts give the same bytes.

    :raises PaperNotPrinted: when the drawing engine reports an error or asks for a file that is not ours.
    """
    return draw(render_to_string(template, facts))


def draw(html: str) -> bytes:
    import weasyprint

    with _ErrorsRaise():
        document = weasyprint.HTML(string=html, base_url="paper:///", url_fetcher=_own_files())
        try:
            return document.write_pdf(
                stylesheets=list(_styles()), font_config=_fonts(), pdf_variant="pdf/ua-1", uncompressed_pdf=False
            )
        except weasyprint.urls.FatalURLFetchingError:
            sentence = "A paper asked for a file that is not the clinic's own, so it was not printed."
            raise PaperNotPrinted(sentence) from None


@cache
def _fonts():
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


@cache
def _styles():
    import weasyprint

    return tuple(
        weasyprint.CSS(filename=str(finders.find(name)), font_config=_fonts(), url_fetcher=_own_files())
        for name in PAPER_STYLES
    )


@cache
def _own_files():
    from config.paper_files import OwnFiles

    return OwnFiles()


class _ErrorsRaise:
    """Turns an ERROR of the drawing engine into a refusal: half a paper is never issued."""

    def __enter__(self):
        import logging

        self.seen: list[str] = []
        seen = self.seen

        class Listen(logging.Handler):
            def emit(self, record: logging.LogRecord) -> None:
                seen.append(record.getMessage())

        self.handler = Listen(level=logging.ERROR)
        logging.getLogger("weasyprint").addHandler(self.handler)
        return self

    def __exit__(self, kind, value, trace):
        import logging

        logging.getLogger("weasyprint").removeHandler(self.handler)
        if self.seen and kind is None:
            raise PaperNotPrinted(f"The paper could not be drawn: {self.seen[0]}. Nothing was issued.")
