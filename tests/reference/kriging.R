# Makes kriging_stops.csv, kriging_variogram.csv and kriging_estimates.csv (R 4.2.2, gstat 2.1-0 of Debian 12): Rscript --vanilla kriging.R
# and prints the model that fit.variogram finds, as it stands in indicator_kriging_test.cpp.
suppressMessages({library(sp); library(gstat)})
# invented: 120 stops by a linear congruential rule, three units by place
n <- 120; s <- 12345; u <- numeric(2*n)
for (i in 1:(2*n)) { s <- (1103515245 * s + 12345) %% 2147483648; u[i] <- s / 2147483648 }
x <- round(1000 * u[seq(1, 2*n, 2)], 1); y <- round(800 * u[seq(2, 2*n, 2)], 1)
unit <- ifelse(sin(x / 110) + sin(y / 130) > 0.5, 0, ifelse(cos(x / 150 + y / 170) > 0.2, 1, 2))
d <- data.frame(x, y, unit); write.csv(d, "kriging_stops.csv", row.names = FALSE, quote = FALSE)
coordinates(d) <- ~x + y
for (k in 0:2) d[[paste0("i", k)]] <- as.numeric(unit == k)
v <- NULL
for (k in 0:2) { w <- variogram(as.formula(paste0("i", k, " ~ 1")), d, cutoff = 450, width = 30); if (is.null(v)) v <- w else v$gamma <- v$gamma + w$gamma }
f <- fit.variogram(v, vgm(0.4, "Sph", 300, 0.1), fit.method = 7)
write.csv(v[, 1:3], "kriging_variogram.csv", row.names = FALSE, quote = FALSE)
m <- vgm(0.5, "Sph", 350, 0.1)
g <- data.frame(x = c(200, 500, 730, 990, 333.3), y = c(300, 400, 650, 10, 555.5)); coordinates(g) <- ~x + y
share <- sapply(0:2, function(k) mean(unit == k))
r <- data.frame(coordinates(g)); for (k in 0:2) r[[paste0("p", k)]] <- krige(as.formula(paste0("i", k, " ~ 1")), d, g, m, beta = share[k + 1], debug.level = 0)$var1.pred
write.csv(r, "kriging_estimates.csv", row.names = FALSE, quote = FALSE)
print(f, digits = 12); print(attr(f, "SSErr"))
