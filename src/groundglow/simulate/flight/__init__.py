"""Flying over the invented site: rays, sky, air, camera, and the errors of all of them."""
