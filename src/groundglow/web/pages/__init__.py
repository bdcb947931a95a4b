"""Pages of HTML: shells that fetch everything from the REST interface. One module, template and script a question."""

from groundglow.web.pages.routes import lost, router

__all__ = ["lost", "router"]
