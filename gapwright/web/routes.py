"""Lists every address of the bench page; a new page gets a file of its own and a line here."""

from __future__ import annotations

from gapwright.web import job_actions as job_page
from gapwright.web import openapi
from gapwright.web.openapi import API
from gapwright.web.pages import check as check_page
from gapwright.web.pages import cover as cover_page
from gapwright.web.pages import edit as edit_page
from gapwright.web.pages import fit as fit_page
from gapwright.web.pages import home as home_page
from gapwright.web.pages import kit as kit_page
from gapwright.web.pages import measure as measure_page
from gapwright.web.pages import plan as plan_page
from gapwright.web.pages import plan_form as plan_form_page
from gapwright.web.pages import shelf as shelf_page
from gapwright.web.pages import shipped as shipped_page
from gapwright.web.request import Route

ROUTES = (
    Route("/", home_page.home),
    Route("/measure", measure_page.measure),
    Route("/fit", fit_page.fit, solves=True),
    Route("/sheet", fit_page.sheet, solves=True),
    Route("/keep", job_page.keep, "POST"),
    Route("/reserve", job_page.reserve, "POST", solves=True),
    Route("/check", check_page.check),
    Route("/checked", check_page.checked, solves=True),
    Route("/cover", cover_page.cover),
    Route("/covered", cover_page.covered, solves=True),
    Route("/kit", kit_page.kit),
    Route("/kit-chosen", kit_page.chosen, solves=True),
    Route("/files", home_page.files),
    Route("/edit", edit_page.edit),
    Route("/save", edit_page.saved, "POST"),
    Route("/shelf", shelf_page.shelf),
    Route("/move", shelf_page.move, "POST"),
    Route("/bring", shelf_page.bring, "POST"),
    Route("/new-shelf", shelf_page.begin, "POST"),
    Route("/plan", plan_form_page.ask),
    Route("/make-plan", plan_form_page.begin, "POST"),
    Route("/plan/{name}", plan_page.plan),
    Route("/plan/{name}/table", plan_page.table),
    Route("/plan/{name}/stop", plan_page.stop, "POST"),
    Route("/guide", shipped_page.contents),
    Route("/guide/{name}", shipped_page.one),
    Route("/bench.css", shipped_page.style),
    Route("/bench.js", shipped_page.script),
    Route("/api", openapi.page),
    *API,
)
