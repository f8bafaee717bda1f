"""What readings teach: from meters, thermometers and scores to factors on what the models reckon."""
