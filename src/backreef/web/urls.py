"""Every address of the page."""

from __future__ import annotations

from datetime import date

from django.urls import path, register_converter

from backreef.web import (
    assets,
    views_access,
    views_away,
    views_catalogue,
    views_days,
    views_forecast,
    views_log,
    views_log_more,
    views_own,
    views_people,
    views_plan,
    views_plan_more,
    views_propose,
    views_reconcile,
    views_sitter,
    views_start,
    views_tanks,
    views_what_if,
    views_why,
)


class DayConverter:
    """A day in an address, as 2027-08-02."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> date:
        """The day; what is none is an address that is not there."""
        return date.fromisoformat(value)

    def to_url(self, value: date) -> str:
        """The day as it stands in an address."""
        return value.isoformat()


register_converter(DayConverter, "day")
urlpatterns = [
    path("", views_tanks.tanks, name="tanks"),
    path("assets/<str:digest>/<str:name>", assets.asset, name="asset"),
    path("sign-in/", views_access.by_password, name="sign-in"),
    path("sign-in/<str:secret>/", views_access.by_link, name="sign-in-link"),
    path("language/", views_access.language, name="language"),
    path("sign-out/", views_access.leave, name="sign-out"),
    path("invitation/<str:secret>/", views_people.invitation, name="invitation"),
    path("password/", views_people.password, name="password"),
    path("people/", views_people.everybody, name="people"),
    path("start/", views_start.start, name="start"),
    path("start/example/", views_start.example, name="start-example"),
    path("start/open/", views_start.open_file, name="start-open"),
    path("jobs/<int:pk>/", views_forecast.job, name="job"),
    path("t/<str:stem>/forecast/", views_forecast.forecast, name="forecast"),
    path("t/<str:stem>/forecast/report.html", views_forecast.report, name="forecast-report"),
    path("t/<str:stem>/forecast/season/<int:year>-<int:month>/", views_days.season, name="season"),
    path("t/<str:stem>/forecast/day/<day:on>/", views_days.day, name="day"),
    path("t/<str:stem>/why/", views_why.why, name="why"),
    path("t/<str:stem>/forecast/<str:part>/", views_forecast.forecast, name="forecast-part"),
    path("t/<str:stem>/plan/", views_plan.plan, name="plan"),
    path("t/<str:stem>/plan/text/", views_plan_more.text, name="plan-text"),
    path("t/<str:stem>/plan/file/", views_plan_more.file, name="plan-file"),
    path("t/<str:stem>/plan/versions/", views_plan_more.versions, name="plan-versions"),
    path("t/<str:stem>/plan/add/<str:section>/", views_plan_more.add, name="plan-add"),
    path("t/<str:stem>/plan/copy/", views_plan_more.copy, name="plan-copy"),
    path("t/<str:stem>/plan/part/<str:name>/", views_plan.part, name="plan-part"),
    path("t/<str:stem>/plan/<str:section>/<int:number>/", views_plan.entry, name="plan-entry"),
    path("t/<str:stem>/log/", views_log.log, name="log"),
    path("t/<str:stem>/log/<str:ident>/", views_log_more.entry, name="log-entry"),
    path("t/<str:stem>/log-table/", views_log_more.table, name="log-table"),
    path("t/<str:stem>/log-table/export.csv", views_log_more.export, name="log-export"),
    path("t/<str:stem>/photographs/", views_log_more.photograph, name="photograph"),
    path("photographs/<str:sha256>/", views_log_more.picture, name="picture"),
    path("t/<str:stem>/own/", views_own.entries, name="own"),
    path("t/<str:stem>/own/<str:kind>/<str:ident>/", views_own.entry, name="own-entry"),
    path("t/<str:stem>/people/", views_people.tank_people, name="tank-people"),
    path("t/<str:stem>/reconcile/", views_reconcile.reconcile, name="reconcile"),
    path("t/<str:stem>/propose/", views_propose.propose, name="propose"),
    path("t/<str:stem>/what-if/", views_what_if.what_if, name="what-if"),
    path("t/<str:stem>/away/", views_away.away, name="away"),
    path("t/<str:stem>/away/sheet.html", views_away.sheet, name="away-sheet"),
    path("t/<str:stem>/calendar/", views_away.calendar, name="calendar"),
    path("feed/<str:secret>/work.ics", views_sitter.feed, name="feed"),
    path("sheet/<str:secret>/", views_sitter.sheet, name="sitter"),
    path("catalogue/", views_catalogue.search, name="catalogue"),
    path("catalogue/<str:kind>/<str:ident>/", views_catalogue.thing, name="thing"),
]
handler400 = "backreef.web.refusals.bad_request"
handler403 = "backreef.web.refusals.forbidden"
handler404 = "backreef.web.refusals.not_found"
handler500 = "backreef.web.refusals.failed"
