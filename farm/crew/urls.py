"""The crew's way in, and below a farm the manager's pages of its people."""

from django.urls import include, path

from farm.crew import entry, views

farm_pages = [
    path("crew/", views.crew, name="crew"),
    path("crew/new/", views.crew_new, name="crew-new"),
    path("crew/<int:pk>/", views.crew_person, name="crew-person"),
    path("crew/<int:pk>/code/", views.crew_code, name="crew-code"),
    path("crew/<int:pk>/card/", views.crew_card, name="crew-card"),
    path("crew/<int:pk>/phones/<int:phone_pk>/out/", views.crew_phone, name="crew-phone"),
    path("crew/<int:pk>/leave/", views.crew_leave, name="crew-leave"),
]

urlpatterns = [
    path("crew/enter/<str:token>/", entry.by_square, name="crew-square"),
    path("crew/<slug:farm_slug>/", entry.by_code, name="crew-enter"),
    path("farm/<slug:farm_slug>/", include(farm_pages)),
]
