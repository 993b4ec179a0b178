"""Addresses below a knit-along's own, /k/<slug>/."""

from django.urls import path

from palettes.views import card, gallery, marks, palette, photo, pictures, shortlist, yarn

app_name = "palettes"
urlpatterns = [
    path("palette/", palette.palette_page, name="palette"),
    path("palette/register/", palette.register, name="register"),
    path("palette/history/", palette.history, name="history"),
    path("palette/history/<int:number>/", palette.registration_page, name="registration"),
    path("palette/card/", card.palette_card, name="card"),
    path("palette/history/<int:number>/card/", card.registration_card, name="registration_card"),
    path("palette/shortlist/", shortlist.shortlist_page, name="shortlist"),
    path("palette/shortlist/use/", shortlist.use_set, name="use_set"),
    path("palette/pictures/", pictures.pictures_page, name="pictures"),
    path("palette/pictures/picture/", pictures.picture, name="picture"),
    path("palette/yarns/", yarn.add_yarn, name="add_yarn"),
    path("palette/yarns/<int:pk>/", yarn.yarn_page, name="yarn"),
    path("palette/yarns/<int:pk>/place/", yarn.place_yarn, name="place_yarn"),
    path("palette/yarns/<int:pk>/move/", yarn.move_yarn, name="move_yarn"),
    path("palette/yarns/<int:pk>/remove/", yarn.remove_yarn, name="remove_yarn"),
    path("palette/yarns/<int:pk>/texture/", photo.yarn_texture, name="yarn_texture"),
    path("palette/photos/", photo.photos, name="photos"),
    path("palette/photos/<int:pk>/", photo.photo_page, name="photo"),
    path("palette/photos/<int:pk>/image/", photo.photo_image, name="photo_image"),
    path("palette/photos/<int:pk>/daylight/", photo.photo_daylight, name="photo_daylight"),
    path("palette/photos/<int:pk>/grey/", photo.photo_grey, name="photo_grey"),
    path("palette/photos/<int:pk>/remove/", photo.remove_photo, name="remove_photo"),
    path("palette/photos/<int:pk>/marks/", marks.keep_marks, name="keep_marks"),
    path("palette/photos/<int:pk>/marks/add/", marks.add_mark, name="add_mark"),
    path("palette/photos/<int:pk>/marks/find/", marks.find_marks, name="find_marks"),
    path("palette/photos/<int:pk>/marks/remove/", marks.remove_mark, name="remove_mark"),
    path("palette/photos/<int:pk>/marks/apply/", marks.apply_marks, name="apply_marks"),
    path("gallery/", gallery.gallery, name="gallery"),
    path("gallery/<int:pk>/", gallery.gallery_palette, name="gallery_palette"),
]
