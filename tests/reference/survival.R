# Makes depths.csv and depth_medians.csv (R 4.2.2, survival 3.5-3 of Debian 12, package r-cran-survival): Rscript --vanilla survival.R
# The median and its 90 % interval of depths of which some are known only to be greater than the hole was deep.
suppressMessages(library(survival))
# invented: 40 cases of 3 to 40 holes by a linear congruential rule; depths in steps of 5 cm, so that ties are many
s <- 2024; draw <- function() { s <<- (1103515245 * s + 12345) %% 2147483648; s / 2147483648 }
holes <- NULL; medians <- NULL
for (case in 1:40) {
  n <- 3 + floor(37 * draw()); weighted <- case > 20
  for (i in 1:n) {
    cm <- 20 + 5 * floor(20 * draw()); reached <- as.numeric(draw() < 0.3 + 0.6 * (case %% 5) / 4); weight <- if (weighted) round(0.05 + 0.95 * draw(), 2) else 1
    holes <- rbind(holes, data.frame(case, cm, reached, weight))
  }
  d <- holes[holes$case == case, ]
  fit <- survfit(Surv(cm, reached) ~ 1, data = d, weights = weight, robust = FALSE, conf.type = "log-log", conf.int = 0.9)
  q <- quantile(fit, 0.5)
  medians <- rbind(medians, data.frame(case, median = unname(q$quantile), low = unname(q$lower), high = unname(q$upper)))
}
write.csv(holes, "depths.csv", row.names = FALSE, quote = FALSE)
write.csv(medians, "depth_medians.csv", row.names = FALSE, quote = FALSE, na = "")
