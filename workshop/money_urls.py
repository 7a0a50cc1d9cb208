"""Addresses of work log, counting back, month, places, list for sale; part of `workshop.urls`."""

from django.urls import path

from workshop.views import counting_back, for_sale, months, places, work_log

urlpatterns = [
    path("jobs/<int:job_id>/work/", work_log.work_log, name="work-log"),
    path("jobs/<int:job_id>/work/start/", work_log.work_start_press, name="work-start"),
    path("jobs/<int:job_id>/work/add/", work_log.work_add, name="work-add"),
    path("jobs/<int:job_id>/work/material/", work_log.work_material, name="work-material"),
    path("jobs/<int:job_id>/counted/", counting_back.counted_back, name="counted-back"),
    path("work/stop/", work_log.work_stop_press, name="work-stop"),
    path("work/<int:entry_id>/", work_log.work_change, name="work-change"),
    path("rates/learned/", counting_back.rates_learned, name="rates-learned"),
    path("rates/places/", places.places, name="places"),
    path("rates/places/new/", places.place_new, name="place-new"),
    path("rates/places/<int:place_id>/", places.place, name="place"),
    path("rates/places/<int:place_id>/change/", places.place_change, name="place-change"),
    path("rates/places/<int:place_id>/offer/", places.place_offered, name="place-offer"),
    path("rates/destinations/", places.destinations, name="destinations"),
    path("rates/destinations/new/", places.destinations_new, name="destinations-new"),
    path("for-sale/", for_sale.for_sale, name="for-sale"),
    path("for-sale/new/", for_sale.for_sale_new, name="for-sale-new"),
    path("for-sale/guide/", for_sale.for_sale_guide, name="for-sale-guide"),
    path("for-sale/work-out/", for_sale.for_sale_work_out, name="for-sale-work-out"),
    path("for-sale/answer/", for_sale.for_sale_answer, name="for-sale-answer"),
    path("for-sale/list.csv", for_sale.for_sale_file, name="for-sale-file"),
    path("for-sale/<int:article_id>/", for_sale.article, name="article"),
    path("for-sale/<int:article_id>/offer/", for_sale.article_offered, name="article-offer"),
    path("month/", months.month, name="month"),
    path("month/stock.csv", months.stock_file, name="stock-file"),
    path("month/<str:table>.csv", months.month_file, name="month-file"),
]
