"""Pages of people: signing in and out, one's own account, who else there is."""

from trialcut.app.people import account, entering, managing

ROUTERS = (entering.router, account.router, managing.router)

__all__ = ["ROUTERS"]
