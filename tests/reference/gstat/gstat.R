# Everything the test compares, by gstat on the meuse data of sp, printed as one JSON document.
suppressMessages({library(sp); library(gstat)})
options(digits = 15)
number <- function(v) ifelse(is.na(v), "null", formatC(v, digits = 17, format = "g"))
list_of <- function(v) paste0("[", paste(number(v), collapse = ","), "]")
object <- function(...) { a <- c(...); paste0("{", paste0('"', names(a), '":', a, collapse = ","), "}") }

data(meuse); data(meuse.grid)
points <- list_of(meuse$x); y <- list_of(meuse$y); zinc <- list_of(log(meuse$zinc))
gx <- list_of(meuse.grid$x); gy <- list_of(meuse.grid$y)
coordinates(meuse) <- ~x+y; coordinates(meuse.grid) <- ~x+y; grid <- meuse.grid; gridded(grid) <- TRUE

classes <- function(v) object(pairs = list_of(v$np), distance = list_of(v$dist), semivariance = list_of(v$gamma))
moments <- variogram(log(zinc) ~ 1, meuse)
robust <- variogram(log(zinc) ~ 1, meuse, cressie = TRUE)
fixed <- variogram(log(zinc) ~ 1, meuse, cutoff = 1500, width = 100)
turned <- variogram(log(zinc) ~ 1, meuse, alpha = c(0, 45, 90, 135))
turned <- turned[turned$dir.hor == 45, ]

fitted <- function(name, range, kappa = 0.5) {
  f <- suppressWarnings(fit.variogram(moments, vgm(0.6, name, range, 0.1, kappa = kappa)))
  object(nugget = number(f$psill[1]), partialSill = number(f$psill[2]), range = number(f$range[2]), sse = number(attr(f, "SSErr")))
}
told <- function(k) object(values = list_of(k$var1.pred), variance = list_of(k$var1.var))
quiet <- function(...) krige(log(zinc) ~ 1, meuse, grid, debug.level = 0, ...)
sph <- vgm(0.59, "Sph", 897, 0.05)
left <- function(...) { o <- krige.cv(log(zinc) ~ 1, meuse, model = sph, verbose = FALSE, ...); object(values = list_of(o$var1.pred), variance = list_of(o$var1.var)) }
idw_of <- function(n) list_of(idw(log(zinc) ~ 1, meuse, grid, idp = 2, nmax = n, debug.level = 0)$var1.pred)
idw_left <- function(n) list_of(gstat.cv(gstat(NULL, "z", log(zinc) ~ 1, meuse, nmax = n, set = list(idp = 2)), verbose = FALSE, debug.level = 0)$z.pred)

cat(object(
  r = paste0('"', R.version.string, '"'),
  gstat = paste0('"', packageVersion("gstat"), '"'),
  sp = paste0('"', packageVersion("sp"), '"'),
  x = points, y = y, values = zinc, gridX = gx, gridY = gy,
  moments = classes(moments), robust = classes(robust), fixedWidth = classes(fixed), northEast = classes(turned),
  fits = object(spherical = fitted("Sph", 900), exponential = fitted("Exp", 450), gaussian = fitted("Gau", 400),
    "matern-1.5" = fitted("Mat", 200, 1.5), "matern-2.5" = fitted("Mat", 150, 2.5)),
  kriged = object(
    spherical = told(quiet(model = sph)),
    exponential = told(quiet(model = vgm(0.72, "Exp", 450, 0.02))),
    gaussian = told(quiet(model = vgm(0.5, "Gau", 390, 0.12))),
    "matern-1.5" = told(quiet(model = vgm(0.57, "Mat", 200, 0.095, kappa = 1.5))),
    "matern-2.5" = told(quiet(model = vgm(0.54, "Mat", 145, 0.109, kappa = 2.5))),
    stretched = told(quiet(model = vgm(0.59, "Sph", 1200, 0.05, anis = c(45, 0.5)))),
    near16 = told(quiet(model = sph, nmax = 16)),
    within400 = told(quiet(model = sph, maxdist = 400, nmin = 4)),
    block40 = told(quiet(model = sph, block = c(40, 40))),
    plane = told(krige(log(zinc) ~ x + y, meuse, grid, model = sph, debug.level = 0)),
    noiseAtPoints = told(krige(log(zinc) ~ 1, meuse, meuse, model = vgm(0.05, "Err", 0, add.to = vgm(0.59, "Sph", 897)), debug.level = 0)),
    atPoints = told(krige(log(zinc) ~ 1, meuse, meuse, model = sph, debug.level = 0))),
  leftOut = object(all = left(), near16 = left(nmax = 16)),
  idw = object(all = idw_of(Inf), near12 = idw_of(12)),
  idwLeftOut = object(all = idw_left(Inf), near12 = idw_left(12))
), "\n")
