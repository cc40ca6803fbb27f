"""One function per thing an engineer does; the command line and the pages share them."""

from trialcut.services.all_papers import IssuedPapers, issue_all
from trialcut.services.as_cut import AsCutPart, cut_forecast, issue_as_cut
from trialcut.services.book import check_book, import_book, log_tube
from trialcut.services.book_choice import book_to_read, book_to_use, book_to_write
from trialcut.services.capability import issue_capability, machine_capability
from trialcut.services.demo import demo_shop_text, demo_study
from trialcut.services.document_pages import document_page, document_schemas
from trialcut.services.documents import document_text, forecast_document, plan_document
from trialcut.services.drawing_file import choose_part, read_drawing
from trialcut.services.evidence import evidence_of, evidence_wishes, issue_evidence
from trialcut.services.files import check_folder, write_files, write_new_file
from trialcut.services.fit_choice import (
    FitChoice,
    choose_fit,
    knowledge_of_trial,
    newest_fit,
    why_not,
    with_book,
    with_fit,
)
from trialcut.services.fit_papers import issue_fit
from trialcut.services.fit_records import fit_of_record
from trialcut.services.fits import before_and_after, fit_book, fit_views, readings_of_fit
from trialcut.services.gauge_study import (
    check_gauges,
    gauge_study_document,
    gauge_study_of,
    issue_gauge_study,
    read_gauge_file,
    shop_of_study,
)
from trialcut.services.handoff import CheckedProgram, HandoffForm, issue_handoff, plain_program
from trialcut.services.handoff_document import handoff_document
from trialcut.services.held_knowledge import refuse_book
from trialcut.services.inspection import IssuedInspection, inspection_wishes, issue_inspection
from trialcut.services.invest import Mix, load_mix, mix_of_studies, weigh_purchases
from trialcut.services.invest_documents import invest_document
from trialcut.services.issue import issue_cut_sheet, issue_plan
from trialcut.services.offer import check_weighed, issue_offer, offer_savings
from trialcut.services.offer_wishes import offer_quantities, offer_wishes
from trialcut.services.pack import Unpacked, pack_study, study_to_pack, unpack_study
from trialcut.services.plans import choose_option, forecast_study, plan_study
from trialcut.services.reading_check import CheckedCell, check_readings, read_what_can_be
from trialcut.services.readings import (
    Recorded,
    correct_reading,
    doubts_about,
    record_reading,
    record_trial,
    system_of_readings,
)
from trialcut.services.routes import compare_routes, routes_document
from trialcut.services.setup_search import SetupSearch, free_of, search_setups
from trialcut.services.shop import Abrasive, Head, Shop
from trialcut.services.shop_entries import change_entry, shop_groups, shop_text
from trialcut.services.shop_file import load_shop
from trialcut.services.study_file import in_units, load_study
from trialcut.services.study_options import StudyOptions, new_study_file, study_from_options
from trialcut.services.trade_off import (
    issue_options,
    options_document,
    pick_point,
    trade_off_study,
)
from trialcut.services.trial_documents import (
    cause_words,
    fit_parameters,
    fit_report,
    fit_verdict,
    trial_design_document,
)
from trialcut.services.trials import IssuedTrial, design_trial, issue_trial, trial_files, trial_lines
from trialcut.services.worth import study_worth, tell_worth, worth_block

__all__ = [
    "Abrasive",
    "AsCutPart",
    "CheckedCell",
    "CheckedProgram",
    "FitChoice",
    "HandoffForm",
    "Head",
    "IssuedInspection",
    "IssuedPapers",
    "IssuedTrial",
    "Mix",
    "Recorded",
    "SetupSearch",
    "Shop",
    "StudyOptions",
    "Unpacked",
    "before_and_after",
    "book_to_read",
    "book_to_use",
    "book_to_write",
    "cause_words",
    "change_entry",
    "check_book",
    "check_folder",
    "check_gauges",
    "check_readings",
    "check_weighed",
    "choose_fit",
    "choose_option",
    "choose_part",
    "compare_routes",
    "correct_reading",
    "cut_forecast",
    "demo_shop_text",
    "demo_study",
    "design_trial",
    "document_page",
    "document_schemas",
    "document_text",
    "doubts_about",
    "evidence_of",
    "evidence_wishes",
    "fit_book",
    "fit_of_record",
    "fit_parameters",
    "fit_report",
    "fit_verdict",
    "fit_views",
    "forecast_document",
    "forecast_study",
    "free_of",
    "gauge_study_document",
    "gauge_study_of",
    "handoff_document",
    "import_book",
    "in_units",
    "inspection_wishes",
    "invest_document",
    "issue_all",
    "issue_as_cut",
    "issue_capability",
    "issue_cut_sheet",
    "issue_evidence",
    "issue_fit",
    "issue_gauge_study",
    "issue_handoff",
    "issue_inspection",
    "issue_offer",
    "issue_options",
    "issue_plan",
    "issue_trial",
    "knowledge_of_trial",
    "load_mix",
    "load_shop",
    "load_study",
    "log_tube",
    "machine_capability",
    "mix_of_studies",
    "new_study_file",
    "newest_fit",
    "offer_quantities",
    "offer_savings",
    "offer_wishes",
    "options_document",
    "pack_study",
    "pick_point",
    "plain_program",
    "plan_document",
    "plan_study",
    "read_drawing",
    "read_gauge_file",
    "read_what_can_be",
    "readings_of_fit",
    "record_reading",
    "record_trial",
    "refuse_book",
    "routes_document",
    "search_setups",
    "shop_groups",
    "shop_of_study",
    "shop_text",
    "study_from_options",
    "study_to_pack",
    "study_worth",
    "system_of_readings",
    "tell_worth",
    "trade_off_study",
    "trial_design_document",
    "trial_files",
    "trial_lines",
    "unpack_study",
    "weigh_purchases",
    "why_not",
    "with_book",
    "with_fit",
    "worth_block",
    "write_files",
    "write_new_file",
]
